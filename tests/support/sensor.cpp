#include "sensor.hpp"

#include <algorithm>
#include <cmath>

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

}  // namespace

double srgb_code(double linear) {
  return linear <= 0.0031308 ? 12.92 * linear : 1.055 * std::pow(linear, 1.0 / 2.4) - 0.055;
}

float Normals::next() {
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

ToneCurve::ToneCurve(bool srgb) : table_(tone_table(srgb)) {}

float ToneCurve::operator()(float linear) const {
  const float at = std::clamp(linear, 0.0F, 1.0F) * kToneSteps;
  const auto index = static_cast<std::size_t>(at);
  return table_[index] + (at - static_cast<float>(index)) * (table_[index + 1] - table_[index]);
}

}  // namespace evenbevel::test
