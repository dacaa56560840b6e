#pragma once

#include <vector>

#include <opencv2/core/mat.hpp>

namespace evenbevel {

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

struct StepOptions {
  int reach = 2;                ///< Columns from one row to the next.
  float cost = 0.0F;            ///< Of each of them.
  std::vector<int> first = {};  ///< Column that a row's path may not go below, a row each,
  std::vector<int> last = {};   ///< or above; empty: any.
};

/// The path of most evidence from the first row to the last: a column each. Dynamic programming
/// over columns; of paths as good, the one with the lower columns.
/// @param evidence  CV_32F.
std::vector<int> best_steps(const cv::Mat& evidence, const StepOptions& options);

}  // namespace evenbevel
