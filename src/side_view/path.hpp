#pragma once

#include <vector>

#include <opencv2/core/mat.hpp>

namespace evenbevel::side {

struct PathOptions {
  int steepest = 10;       ///< Rows from one column to the next.
  int sharpest = 2;        ///< Change of that from column to column.
  double bend_cost = 1.0;  ///< Times the squared change,
  double back_cost = 1.0;  ///< where it is negative: times this.
};

/// The continuous curve of greatest gain from the first column to the last: a row each.
/// Dynamic programming over row and slope.
/// @param gain  CV_32FC1; forbidden places hold a very negative number.
std::vector<int> best_path(const cv::Mat& gain, const PathOptions& options);

constexpr float kForbidden = -1e6F;

}  // namespace evenbevel::side
