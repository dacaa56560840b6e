#pragma once

#include <vector>

#include <opencv2/core/mat.hpp>

namespace evenbevel::choil {

/// Columns [first, last] of a row that are not paper.
struct Run {
  int first = 0, last = -1;
  int length() const { return last - first + 1; }
};

/// One row of the cut-out: the paper's light across it, and what stands before it.
struct RowLook {
  double paper = 0.0, tilt = 0.0;  ///< At the middle, and per column.
  std::vector<Run> runs;
};

/// @param stands_out  Of the paper's light: a change of so much is no paper.
RowLook look_at(const cv::Mat& light, int row, double stands_out);

/// @param share  0: the least, 1: the largest; 0 where there is none.
double percentile(std::vector<float> values, double share);
double median_of(std::vector<float> values);

}  // namespace evenbevel::choil
