#include "neighbours.hpp"

#include <algorithm>
#include <cmath>

namespace evenbevel {

double independent(double length_mm, double shared_mm) {
  return std::max(length_mm / shared_mm, 1.0);
}

double counted_as_one(double apart_mm, double shared_mm) {
  return std::max(shared_mm / apart_mm, 1.0);
}

double neighbours_inflation(double own, double lagged, double most) {
  const double rho = std::clamp(lagged / std::max(own, 1e-12), 0.0, most);
  return (1.0 + rho) / (1.0 - rho);
}

double block_inflation(std::span<const double> residuals) {
  constexpr std::size_t kBlock = 5;
  constexpr double kMost = 2.5, kNotTold = 1.5;
  if (residuals.size() < 4 * kBlock) return kNotTold;
  double of_one = 0.0, of_means = 0.0, blocks = 0.0;
  for (std::size_t i = 0; i + kBlock <= residuals.size(); i += kBlock) {
    double mean = 0.0;
    for (std::size_t k = i; k < i + kBlock; ++k) {
      mean += residuals[k] / kBlock;
      of_one += residuals[k] * residuals[k];
    }
    of_means += mean * mean;
    blocks += 1.0;
  }
  of_one /= blocks * kBlock;
  of_means /= blocks;
  return std::clamp(std::sqrt(kBlock * of_means / std::max(of_one, 1e-12)), 1.0, kMost);
}

}  // namespace evenbevel
