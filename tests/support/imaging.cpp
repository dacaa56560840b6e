#include "imaging.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <vector>

#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "phone_chain.hpp"
#include "sensor.hpp"

namespace evenbevel::test {
namespace {

void expose(cv::Mat& light, const Imaging& imaging, std::mt19937_64& rng) {
  const ToneCurve tone(imaging.srgb);
  const auto gain = static_cast<float>(imaging.exposure);
  const auto read = static_cast<float>(imaging.read_noise * imaging.read_noise);
  const auto shot = static_cast<float>(imaging.shot_noise * imaging.shot_noise);
  const bool noisy = read > 0.0F || shot > 0.0F;
  Normals normals(rng);
  const int values = light.cols * light.channels();
  for (int row = 0; row < light.rows; ++row) {
    float* value = light.ptr<float>(row);
    for (int i = 0; i < values; ++i) {
      float linear = value[i] * gain;
      if (noisy) linear += std::sqrt(read + shot * linear) * normals.next();
      value[i] = tone(linear);
    }
  }
}

void unsharp(cv::Mat& code, double amount, double sigma_px) {
  cv::Mat soft;
  cv::GaussianBlur(code, soft, cv::Size(), sigma_px);
  cv::addWeighted(code, 1.0 + amount, soft, -amount, 0.0, code);
}

/// Colour at half the resolution (4:2:0), as OpenCV writes it when not told otherwise.
cv::Mat jpeg_round_trip(const cv::Mat& picture, int quality) {
  std::vector<uchar> bytes;
  cv::imencode(".jpg", picture, bytes, {cv::IMWRITE_JPEG_QUALITY, quality});
  return cv::imdecode(bytes, cv::IMREAD_UNCHANGED);
}

}  // namespace

cv::Mat take_picture(const Light& light, const Imaging& imaging, std::mt19937_64& rng) {
  const double to_come = imaging.blur_px * imaging.blur_px - light.blur_px * light.blur_px;
  assert(to_come > -1e-12);
  cv::Mat code;
  if (to_come > 1e-6) {
    const double sigma = std::sqrt(to_come);
    const int width = 2 * static_cast<int>(std::ceil(4.5 * sigma)) + 1;
    cv::GaussianBlur(light.pixels, code, cv::Size(width, width), sigma, sigma,
                     cv::BORDER_REPLICATE);
  } else {
    code = light.pixels.clone();
  }
  if (imaging.phone) {
    code = phone_code(code, imaging, rng);
  } else {
    expose(code, imaging, rng);
  }
  if (imaging.sharpen > 0.0) unsharp(code, imaging.sharpen, imaging.sharpen_px);
  cv::Mat picture;
  code.convertTo(picture, CV_MAKETYPE(CV_8U, code.channels()), 255.0);
  return imaging.jpeg ? jpeg_round_trip(picture, *imaging.jpeg) : picture;
}

}  // namespace evenbevel::test
