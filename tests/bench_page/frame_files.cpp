#include "frame_files.hpp"

#include <opencv2/core.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

namespace evenbevel::test {

FrameFiles::FrameFiles(const std::string& photo, int width_px, int step_px) {
  constexpr int kFrames = 6;
  constexpr double kNoise = 2.0;
  cv::Mat picture = cv::imread(photo, cv::IMREAD_COLOR | cv::IMREAD_IGNORE_ORIENTATION);
  if (width_px > 0) {
    const double scale = static_cast<double>(width_px) / picture.cols;
    cv::resize(picture, picture, {}, scale, scale, cv::INTER_AREA);
  }
  cv::RNG random(7);
  for (int i = 0; i < kFrames; ++i) {
    cv::Mat noise(picture.size(), CV_16SC3), noisy;
    random.fill(noise, cv::RNG::NORMAL, 0.0, kNoise);
    cv::Mat moved;
    cv::copyMakeBorder(picture, moved, 0, 0, i * step_px, 0, cv::BORDER_REPLICATE);
    cv::add(moved(cv::Rect({}, picture.size())), noise, noisy, cv::noArray(), CV_8U);
    const std::string name = "frame_0" + std::to_string(i) + ".jpg";
    cv::imwrite((folder_ / name).string(), noisy, {cv::IMWRITE_JPEG_QUALITY, 95});
  }
}

}  // namespace evenbevel::test
