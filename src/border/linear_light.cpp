#include <cmath>

#include <opencv2/core.hpp>
#include <opencv2/core/utility.hpp>

#include "evenbevel/trace.hpp"

namespace evenbevel {
namespace {

/// Linear light of every level: a lane has a million pixels, each of which would ask for a power.
cv::Mat table_of(int levels) {
  cv::Mat table(1, levels, CV_32FC1);
  for (int i = 0; i < levels; ++i) {
    table.at<float>(i) = static_cast<float>(linear_light(static_cast<double>(i) / (levels - 1)));
  }
  return table;
}

}  // namespace

double linear_light(double encoded) {
  return encoded <= 0.04045 ? encoded / 12.92 : std::pow((encoded + 0.055) / 1.055, 2.4);
}

cv::Mat linear_light(const cv::Mat& encoded) {
  cv::Mat linear;
  if (encoded.depth() == CV_8U) {
    static const cv::Mat kTable = table_of(256);
    cv::LUT(encoded, kTable, linear);
    return linear;
  }
  static const cv::Mat kTable = table_of(65536);
  const float* table = kTable.ptr<float>();
  linear.create(encoded.size(), CV_32FC1);
  cv::parallel_for_(cv::Range(0, encoded.rows), [&](const cv::Range& rows) {
    for (int row = rows.start; row < rows.end; ++row) {
      const ushort* from = encoded.ptr<ushort>(row);
      float* to = linear.ptr<float>(row);
      for (int column = 0; column < encoded.cols; ++column) to[column] = table[from[column]];
    }
  });
  return linear;
}

}  // namespace evenbevel
