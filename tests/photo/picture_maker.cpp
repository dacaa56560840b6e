#include "picture_maker.hpp"

#include <cstdio>
#include <cstdlib>

#include <jpeglib.h>
#include <opencv2/core.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

namespace evenbevel::test {

cv::Mat smooth_picture(cv::Size size, int type) {
  cv::Mat bgr(size, CV_32FC3);
  for (int y = 0; y < size.height; ++y) {
    for (int x = 0; x < size.width; ++x) {
      const float u = static_cast<float>(x) / static_cast<float>(size.width - 1);
      const float v = static_cast<float>(y) / static_cast<float>(size.height - 1);
      bgr.at<cv::Vec3f>(y, x) = {0.1F + 0.6F * u + 0.2F * v, 0.1F + 0.7F * v * v,
                                 0.9F - 0.5F * u * v - 0.3F * u};
    }
  }
  cv::Mat out;
  if (CV_MAT_CN(type) == 1) cv::cvtColor(bgr, out, cv::COLOR_BGR2GRAY);
  if (CV_MAT_CN(type) == 3) out = bgr;
  if (CV_MAT_CN(type) == 4) cv::cvtColor(bgr, out, cv::COLOR_BGR2BGRA);
  out.convertTo(out, CV_MAT_DEPTH(type), CV_MAT_DEPTH(type) == CV_8U ? 255.0 : 65535.0);
  return out;
}

std::string encoded(const std::string& ending, const cv::Mat& pixels,
                    const std::vector<int>& settings) {
  std::vector<uchar> bytes;
  if (!cv::imencode(ending, pixels, bytes, settings)) return "";
  return {bytes.begin(), bytes.end()};
}

std::string ink_jpeg(const cv::Mat& bgr) {
  jpeg_compress_struct jpeg{};
  jpeg_error_mgr errors{};
  jpeg.err = jpeg_std_error(&errors);
  jpeg_create_compress(&jpeg);
  unsigned char* bytes = nullptr;
  unsigned long size = 0;
  jpeg_mem_dest(&jpeg, &bytes, &size);
  jpeg.image_width = static_cast<JDIMENSION>(bgr.cols);
  jpeg.image_height = static_cast<JDIMENSION>(bgr.rows);
  jpeg.input_components = 4;
  jpeg.in_color_space = JCS_CMYK;
  jpeg_set_defaults(&jpeg);
  jpeg_start_compress(&jpeg, TRUE);
  cv::Mat inks;
  cv::cvtColor(bgr, inks, cv::COLOR_BGR2BGRA);
  for (int y = 0; y < inks.rows; ++y) {
    JSAMPROW row = inks.ptr(y);
    jpeg_write_scanlines(&jpeg, &row, 1);
  }
  jpeg_finish_compress(&jpeg);
  jpeg_destroy_compress(&jpeg);
  std::string file(reinterpret_cast<const char*>(bytes), size);
  std::free(bytes);
  return file;
}

double largest_difference(const cv::Mat& a, const cv::Mat& b) {
  if (a.size() != b.size() || a.type() != b.type()) return 1e9;
  return cv::norm(a, b, cv::NORM_INF);
}

}  // namespace evenbevel::test
