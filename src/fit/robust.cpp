#include <algorithm>
#include <cassert>
#include <cmath>

#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "fit/tukey.hpp"

namespace evenbevel {
namespace fit {
namespace {

/// Derivative of z times its weight.
double tukey_slope(double z) {
  const double t = z / kTukey;
  if (std::abs(t) >= 1.0) return 0.0;
  return (1.0 - t * t) * (1.0 - 5.0 * t * t);
}

}  // namespace

double tukey_weight(double z) {
  const double t = z / kTukey;
  if (std::abs(t) >= 1.0) return 0.0;
  return (1.0 - t * t) * (1.0 - t * t);
}

double tukey_variance(std::span<const double> z, int parameters) {
  double n = 0.0, sum_psi2 = 0.0, sum_slope = 0.0, sum_slope2 = 0.0;
  for (const double zi : z) {
    const double weight = tukey_weight(zi);
    if (weight <= 0.0) continue;
    n += 1.0;
    sum_psi2 += weight * zi * weight * zi;
    const double slope = tukey_slope(zi);
    sum_slope += slope;
    sum_slope2 += slope * slope;
  }
  if (n <= parameters || sum_slope <= 0.0) return 1.0;
  const double mean_slope = sum_slope / n;
  const double slope_variance = sum_slope2 / n - mean_slope * mean_slope;
  // Huber's correction for few readings.
  const double correction = 1.0 + parameters / n * slope_variance / (mean_slope * mean_slope);
  return correction * correction * sum_psi2 / (n - parameters) / (mean_slope * mean_slope);
}

double residual_sigma(std::span<const double> residuals, int parameters) {
  const double n = static_cast<double>(residuals.size());
  return mad_sigma(residuals, 0.0) * std::sqrt(n / std::max(1.0, n - parameters));
}

std::vector<int> spread_indices(int count, int most) {
  const int taken = std::min(count, most);
  std::vector<int> indices(static_cast<std::size_t>(taken));
  for (int i = 0; i < taken; ++i) {
    indices[static_cast<std::size_t>(i)] =
        static_cast<int>(static_cast<long long>(i) * count / taken);
  }
  return indices;
}

int SubsetPicker::next() {
  // Knuth's 64-bit linear congruential generator (MMIX); the upper bits are the good ones.
  state_ = state_ * 6364136223846793005ULL + 1442695040888963407ULL;
  return static_cast<int>((state_ >> 33) % count_);
}

}  // namespace fit

double median(std::span<const double> values) {
  assert(!values.empty());
  std::vector<double> copy(values.begin(), values.end());
  const auto middle = copy.begin() + static_cast<std::ptrdiff_t>(copy.size() / 2);
  std::nth_element(copy.begin(), middle, copy.end());
  if (copy.size() % 2 == 1) return *middle;
  const double below = *std::max_element(copy.begin(), middle);
  return below + 0.5 * (*middle - below);
}

double mad_sigma(std::span<const double> values, double centre) {
  constexpr double kNormal = 1.482602218505602;  // 1 / quantile(0.75) of the normal distribution
  std::vector<double> distances(values.size());
  std::transform(values.begin(), values.end(), distances.begin(),
                 [centre](double value) { return std::abs(value - centre); });
  return kNormal * median(distances);
}

Location robust_location(std::span<const double> values) {
  if (values.size() < 2) {
    throw Error("there are " + std::to_string(values.size()) + " readings, 2 are needed",
                "take more readings");
  }
  double centre = median(values);
  std::vector<double> z(values.size());
  const auto standardise = [&](double sigma) {
    std::transform(values.begin(), values.end(), z.begin(), [&](double v) {
      return sigma > 0.0 ? (v - centre) / sigma : (v == centre ? 0.0 : 2.0 * fit::kTukey);
    });
  };
  double sigma = mad_sigma(values, centre);
  for (int iteration = 0; iteration < 50; ++iteration) {
    standardise(sigma);
    double sum_weight = 0.0, sum = 0.0;
    for (std::size_t i = 0; i < z.size(); ++i) {
      const double weight = fit::tukey_weight(z[i]);
      sum_weight += weight;
      sum += weight * (values[i] - centre);
    }
    const double step = sum / sum_weight;
    centre += step;
    if (std::abs(step) <= 1e-12 * sigma) break;
  }
  standardise(sigma);
  const auto used =
      std::count_if(z.begin(), z.end(), [](double zi) { return fit::tukey_weight(zi) > 0.0; });
  const double n = static_cast<double>(used);
  const double relative = fit::tukey_variance(z, 1);
  return {.value = centre,
          .u = sigma * std::sqrt(relative / n),
          .sigma = sigma,
          .dof = std::max(1.0, n - 1.0),
          .used = static_cast<int>(used)};
}

}  // namespace evenbevel
