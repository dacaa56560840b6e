#pragma once

#include <vector>

#include <opencv2/core/mat.hpp>

#include "flat_face.hpp"

namespace evenbevel::finish {

inline constexpr int kDirections = 24;
/// Of the line filter, px: a Gaussian along, its second derivative across. A line up to
/// 2 sqrt(3) sigma wide shows its ridge (C. Steger, IEEE PAMI 20 (1998) 113-125: from memory).
inline constexpr double kAlongPx = 8.0, kAcrossPx = 1.2;

/// Direction of a filter, from x toward z.
double direction_of(int filter);

/// Which filters may answer on a surface; the others run along its lay.
struct AllowedDirections {
  std::array<bool, kDirections> on_flat{}, on_bevel{};
};

/// Answers of the filters over the face's own (robust mean about each place), largest over the
/// photos whose lamp shines across the direction.
struct LineBank {
  std::vector<cv::Mat> answer;  ///< A direction each; CV_8UC1, in steps of 1 / kSteps.
  std::vector<cv::Mat> photo;   ///< Whose answer it is.
  /// CV_32FC1, shrunken by kCellPx: the face's own answer (standard deviation), median over the
  /// allowed directions of the least over the photos; negative: not judged.
  cv::Mat spread;
};
inline constexpr int kCellPx = 16;
inline constexpr double kSteps = 8.0;

LineBank run_line_bank(const FlatFace& face, const AllowedDirections& allowed);

/// The filter's answer, at its peak, to a line of `width_px` (narrower than the filter) that is
/// brighter by its surroundings' light, blurred by `blur_px`.
double answer_to_line(double width_px, double blur_px);

}  // namespace evenbevel::finish
