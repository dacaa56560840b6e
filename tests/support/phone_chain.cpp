#include "phone_chain.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include <opencv2/imgproc.hpp>

#include "sensor.hpp"

namespace evenbevel::test {
namespace {

/// Red a little larger than green, blue a little smaller.
cv::Mat with_lateral_colour(const cv::Mat& light, double lateral_px) {
  if (lateral_px == 0.0) return light;
  std::vector<cv::Mat> channels;
  cv::split(light, channels);
  const double x = 0.5 * (light.cols - 1);
  const double y = 0.5 * (light.rows - 1);
  for (const int channel : {0, 2}) {
    const double scale = 1.0 + (channel == 2 ? 1.0 : -1.0) * lateral_px / x;
    const cv::Mat to_scaled =
        (cv::Mat_<double>(2, 3) << scale, 0.0, x * (1.0 - scale), 0.0, scale, y * (1.0 - scale));
    cv::Mat moved;
    cv::warpAffine(channels[static_cast<std::size_t>(channel)], moved, to_scaled, light.size(),
                   cv::INTER_CUBIC, cv::BORDER_REPLICATE);
    channels[static_cast<std::size_t>(channel)] = moved;
  }
  cv::Mat out;
  cv::merge(channels, out);
  return out;
}

constexpr float kFull = 60000.0F;  // of 16 bits; the rest is for nothing but rounding

/// One channel a pixel: blue green / green red.
cv::Mat mosaic(const cv::Mat& light, const Imaging& imaging, std::mt19937_64& rng) {
  const auto gain = static_cast<float>(imaging.exposure);
  const auto read = static_cast<float>(imaging.read_noise * imaging.read_noise);
  const auto shot = static_cast<float>(imaging.shot_noise * imaging.shot_noise);
  Normals normals(rng);
  cv::Mat raw(light.size(), CV_16U);
  for (int row = 0; row < light.rows; ++row) {
    const auto* in = light.ptr<cv::Vec3f>(row);
    auto* out = raw.ptr<ushort>(row);
    for (int column = 0; column < light.cols; ++column) {
      const int channel = row % 2 + column % 2;
      float linear = std::max(0.0F, in[column][channel]) * gain;
      linear += std::sqrt(read + shot * linear) * normals.next();
      out[column] = static_cast<ushort>(kFull * std::clamp(linear, 0.0F, 1.0F) + 0.5F);
    }
  }
  return raw;
}

/// Colour is smoothed widely, brightness only where it hardly differs.
void denoise(cv::Mat& code, double strength) {
  cv::Mat luma_chroma;
  cv::cvtColor(code, luma_chroma, cv::COLOR_BGR2YCrCb);
  std::vector<cv::Mat> channels;
  cv::split(luma_chroma, channels);
  cv::Mat smooth;
  cv::bilateralFilter(channels[0], smooth, 5, strength, 1.2);
  channels[0] = smooth;
  for (const std::size_t channel : {std::size_t{1}, std::size_t{2}}) {
    cv::GaussianBlur(channels[channel], channels[channel], cv::Size(), 1.5);
  }
  cv::merge(channels, luma_chroma);
  cv::cvtColor(luma_chroma, code, cv::COLOR_YCrCb2BGR);
}

void lift_shadows(cv::Mat& code, double power) {
  if (power == 0.0) return;
  cv::Mat small, grey, gain;
  cv::resize(code, small, cv::Size(), 0.0625, 0.0625, cv::INTER_AREA);
  cv::cvtColor(small, grey, cv::COLOR_BGR2GRAY);
  cv::GaussianBlur(grey, grey, cv::Size(), 3.0);
  const double mean = std::max(0.02, cv::mean(grey)[0]);
  grey = cv::max(grey, 0.05) / mean;
  cv::pow(grey, -power, grey);
  cv::resize(grey, gain, code.size(), 0.0, 0.0, cv::INTER_LINEAR);
  cv::Mat gains;
  cv::merge(std::vector<cv::Mat>{gain, gain, gain}, gains);
  cv::multiply(code, gains, code);
  code = cv::min(code, 1.0);
}

}  // namespace

cv::Mat phone_code(const cv::Mat& light, const Imaging& imaging, std::mt19937_64& rng) {
  const PhoneChain& phone = *imaging.phone;
  const cv::Mat raw = mosaic(with_lateral_colour(light, phone.lateral_px), imaging, rng);
  cv::Mat full;
  // OpenCV names a mosaic by its second row and column: BG / GR is its "RG".
  cv::demosaicing(raw, full, phone.follow_edges ? cv::COLOR_BayerRG2BGR_EA : cv::COLOR_BayerRG2BGR);
  cv::Mat code;
  full.convertTo(code, CV_32F, 1.0 / static_cast<double>(kFull));
  const ToneCurve tone(imaging.srgb);
  for (int row = 0; row < code.rows; ++row) {
    auto* value = code.ptr<float>(row);
    for (int i = 0; i < 3 * code.cols; ++i) value[i] = tone(value[i]);
  }
  denoise(code, phone.denoise);
  lift_shadows(code, phone.local_tone);
  return code;
}

}  // namespace evenbevel::test
