#pragma once

#include <string>
#include <vector>

#include <opencv2/core/mat.hpp>

namespace evenbevel::test {

/// A smooth picture without symmetry, every corner different, so that turning or mirroring shows
/// and lossy coding does not. Full range of the type.
cv::Mat smooth_picture(cv::Size size, int type);

/// The file's bytes, by OpenCV's encoder.
std::string encoded(const std::string& ending, const cv::Mat& pixels,
                    const std::vector<int>& settings = {});

/// A JPEG in the four inks of a printing press, by libjpeg.
std::string ink_jpeg(const cv::Mat& bgr);

/// Largest difference of any channel of any pixel.
double largest_difference(const cv::Mat& a, const cv::Mat& b);

}  // namespace evenbevel::test
