#pragma once

#include <optional>

#include <Eigen/Core>
#include <opencv2/core/mat.hpp>

namespace evenbevel {

/// What is expected where two black and two white cells meet.
struct SaddleGuess {
  Eigen::Vector2d q_px;  ///< Predicted place.
  /// Along the two grid lines through the corner, one cell long [px]. The cell between the two is
  /// dark when `dark_between`, and so is the opposite one.
  Eigen::Vector2d u_px, v_px;
  bool dark_between = true;
};

struct Saddle {
  Eigen::Vector2d q_px;
  double edge_width_px = 0.0;  ///< RMS distance of the gradient from the two lines: the blur.
  double contrast = 0.0;       ///< Grey levels, weakest of the four arms.
};

/// Refines the corner at full resolution: the point that all edge gradients near the two grid
/// lines point past (Foerstner and Guelch, Interlaken 1987), in a band along each line narrow
/// enough to keep clear of the markers. Arms of equal length on both sides: what a tone curve adds
/// to one of a line's two arms it takes from the other.
///
/// @param grey  CV_8UC1.
/// @return  Empty when the window leaves the picture, when one of the four arms does not show the
///          expected step from dark to light (covered, glare, no corner), or when the point runs
///          away from the prediction.
std::optional<Saddle> refine_saddle(const cv::Mat& grey, const SaddleGuess& guess);

}  // namespace evenbevel
