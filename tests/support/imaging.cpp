#include "imaging.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <vector>

#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "evenbevel/units.hpp"

namespace evenbevel::test {
namespace {

constexpr int kNormals = 1 << 16;

/// Quantiles of the standard normal at the middles of 65,536 equal slices: four normals from one
/// draw of 64 bits.
std::vector<float> normal_quantiles() {
  std::vector<float> table(kNormals);
  double t = -4.3;
  for (int i = 0; i < kNormals; ++i) {
    const double wanted = (i + 0.5) / kNormals;
    for (int step = 0; step < 8; ++step) {  // Newton, from the neighbour's value
      const double cdf = 0.5 * std::erfc(-t / std::sqrt(2.0));
      const double density = std::exp(-0.5 * t * t) / std::sqrt(2.0 * kPi);
      t += std::clamp((wanted - cdf) / density, -0.2, 0.2);
    }
    table[static_cast<std::size_t>(i)] = static_cast<float>(t);
  }
  return table;
}

class Normals {
 public:
  explicit Normals(std::mt19937_64& rng) : rng_(rng) {}

  float next() {
    static const std::vector<float> kTable = normal_quantiles();
    if (left_ == 0) {
      bits_ = rng_();
      left_ = 4;
    }
    const float value = kTable[bits_ & (kNormals - 1)];
    bits_ >>= 16;
    --left_;
    return value;
  }

 private:
  std::mt19937_64& rng_;
  std::uint64_t bits_ = 0;
  int left_ = 0;
};

constexpr int kToneSteps = 8192;

/// Code at the middle of each of 8192 steps of linear light: the steps are finer than an 8-bit code
/// everywhere but in the deepest shadow, where they are interpolated.
std::vector<float> tone_table(bool srgb) {
  std::vector<float> table(kToneSteps + 2);
  for (std::size_t i = 0; i < table.size(); ++i) {
    const double linear = std::min(1.0, static_cast<double>(i) / kToneSteps);
    table[i] = static_cast<float>(srgb ? srgb_code(linear) : linear);
  }
  return table;
}

float look_up(const std::vector<float>& table, float linear) {
  const float at = std::clamp(linear, 0.0F, 1.0F) * kToneSteps;
  const auto index = static_cast<std::size_t>(at);
  return table[index] + (at - static_cast<float>(index)) * (table[index + 1] - table[index]);
}

void expose(cv::Mat& light, const Imaging& imaging, std::mt19937_64& rng) {
  const std::vector<float> tone = tone_table(imaging.srgb);
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
      value[i] = look_up(tone, linear);
    }
  }
}

void unsharp(cv::Mat& code, double amount, double sigma_px) {
  cv::Mat soft;
  cv::GaussianBlur(code, soft, cv::Size(), sigma_px);
  cv::addWeighted(code, 1.0 + amount, soft, -amount, 0.0, code);
}

cv::Mat jpeg_round_trip(const cv::Mat& picture, int quality) {
  std::vector<uchar> bytes;
  cv::imencode(".jpg", picture, bytes, {cv::IMWRITE_JPEG_QUALITY, quality});
  return cv::imdecode(bytes, cv::IMREAD_UNCHANGED);
}

}  // namespace

double srgb_code(double linear) {
  return linear <= 0.0031308 ? 12.92 * linear : 1.055 * std::pow(linear, 1.0 / 2.4) - 0.055;
}

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
  expose(code, imaging, rng);
  if (imaging.sharpen > 0.0) unsharp(code, imaging.sharpen, imaging.sharpen_px);
  cv::Mat picture;
  code.convertTo(picture, CV_MAKETYPE(CV_8U, code.channels()), 255.0);
  return imaging.jpeg ? jpeg_round_trip(picture, *imaging.jpeg) : picture;
}

}  // namespace evenbevel::test
