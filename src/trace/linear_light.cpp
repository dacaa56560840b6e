#include <cmath>

#include <opencv2/core.hpp>

#include "evenbevel/trace.hpp"

namespace evenbevel {
namespace {

cv::Mat table_8() {
  cv::Mat table(1, 256, CV_32FC1);
  for (int i = 0; i < 256; ++i) table.at<float>(i) = static_cast<float>(linear_light(i / 255.0));
  return table;
}

}  // namespace

double linear_light(double encoded) {
  return encoded <= 0.04045 ? encoded / 12.92 : std::pow((encoded + 0.055) / 1.055, 2.4);
}

cv::Mat linear_light(const cv::Mat& encoded) {
  cv::Mat linear;
  if (encoded.depth() == CV_8U) {
    static const cv::Mat kTable = table_8();
    cv::LUT(encoded, kTable, linear);
    return linear;
  }
  linear.create(encoded.size(), CV_32FC1);
  for (int row = 0; row < encoded.rows; ++row) {
    const ushort* from = encoded.ptr<ushort>(row);
    float* to = linear.ptr<float>(row);
    for (int column = 0; column < encoded.cols; ++column) {
      to[column] = static_cast<float>(linear_light(from[column] / 65535.0));
    }
  }
  return linear;
}

}  // namespace evenbevel
