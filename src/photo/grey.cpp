#include <opencv2/imgproc.hpp>

#include "evenbevel/photo.hpp"

namespace evenbevel {

cv::Mat grey8(const cv::Mat& pixels) {
  cv::Mat grey = pixels;
  if (pixels.channels() == 3) cv::cvtColor(pixels, grey, cv::COLOR_BGR2GRAY);
  if (grey.depth() == CV_16U) {
    cv::Mat shrunk;
    grey.convertTo(shrunk, CV_8U, 255.0 / 65535.0);
    return shrunk;
  }
  return grey;
}

}  // namespace evenbevel
