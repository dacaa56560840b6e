#pragma once

#include <optional>
#include <vector>

#include <Eigen/Core>

#include "evenbevel/fit.hpp"
#include "face_image.hpp"
#include "silhouette.hpp"

namespace evenbevel::side {

/// A curve z(x) read every kStep: NaN where it was not seen.
struct Curve {
  static constexpr double kStepMm = 0.5;
  double first_mm = 0.0;
  std::vector<double> z_mm;

  double x(std::size_t i) const { return first_mm + static_cast<double>(i) * kStepMm; }
  /// Between the readings; NaN beside them.
  double at(double x_mm) const;
  /// dz/dx by a line over +-reach.
  double slope(double x_mm, double reach_mm) const;
};

/// Readings sorted by x as a curve; none over gaps of more than 2 mm.
Curve resampled(const std::vector<Eigen::Vector2d>& points);

/// The blade's outline as seen: (x, z) on the plane of the upper face.
struct Outline {
  Curve edge, spine;
  std::vector<Eigen::Vector2d> heel;   ///< The handle's end; empty: cut off.
  std::optional<Eigen::Vector2d> tip;  ///< Where edge and spine meet.
  double scatter_mm = 0.0;             ///< Of a reading about its neighbours, typical.
};

Outline find_outline(const FaceImage& image, const RoughBlade& blade);

/// Where `image` falls through the middle of its levels along a line: from the inside at
/// t = -reach to the outside at +reach, mm from `at` along `outward`. Averaged over +-half_width
/// along the border. Empty: no clear step there.
struct LevelSearch {
  double reach_mm = 1.4, apart_mm = 0.5, half_width_mm = 0.25, least_step = 0.1;
  double least_ratio = 0.0;  ///< Of the inside's level to the outside's; 0: any.
  int steps_a_px = 1;
};
std::optional<double> half_level(const FaceImage& image, const cv::Mat& channel,
                                 const Eigen::Vector2d& at_mm, const Eigen::Vector2d& outward,
                                 const LevelSearch& search);

}  // namespace evenbevel::side
