#include <algorithm>
#include <cassert>
#include <cmath>
#include <vector>

#include "evenbevel/study.hpp"

namespace evenbevel {
namespace {

// The integrands vanish to below 1e-14 at both ends, where the trapezoid rule is at its best.
constexpr double kReach = 9.0;
constexpr double kStep = 0.05;

double normal_share(double x) { return 0.5 * std::erfc(-x / std::sqrt(2.0)); }

std::vector<double> shares() {
  std::vector<double> phi;
  for (int i = 0; i <= static_cast<int>(2.0 * kReach / kStep); ++i) {
    phi.push_back(normal_share(-kReach + kStep * i));
  }
  return phi;
}

}  // namespace

// E[W] = int P(min <= x < max) dx; E[W^2] = 2 int int over x < y of P(min <= x and y < max), which
// is 1 - P(max <= y) - P(min > x) + P(all between). L. H. C. Tippett, Biometrika 17 (1925) 364-387.
RangeConstants range_constants(int n) {
  assert(n >= 2);
  static const std::vector<double> phi = shares();
  std::vector<double> all_below, all_above;
  for (const double share : phi) {
    all_below.push_back(std::pow(share, n));
    all_above.push_back(std::pow(1.0 - share, n));
  }
  double mean = 0.0, square = 0.0;
  for (std::size_t x = 0; x < phi.size(); ++x) {
    mean += 1.0 - all_below[x] - all_above[x];
    // On the diagonal the integrand is the mean's, and counts half.
    square += 0.5 * (1.0 - all_below[x] - all_above[x]);
    for (std::size_t y = x + 1; y < phi.size(); ++y) {
      square += 1.0 - all_below[y] - all_above[x] + std::pow(phi[y] - phi[x], n);
    }
  }
  // Euler and Maclaurin's correction at the diagonal, where the slope along y is -n Phi^(n-1) phi,
  // whose integral along the diagonal is -1.
  square -= 1.0 / 12.0;
  const double d2 = kStep * mean;
  const double variance = 2.0 * kStep * kStep * square - d2 * d2;
  return {.d2 = d2, .d3 = std::sqrt(variance)};
}

double RangeConstants::lower_factor() const { return std::max(0.0, 1.0 - 3.0 * d3 / d2); }
double RangeConstants::upper_factor() const { return 1.0 + 3.0 * d3 / d2; }
double RangeConstants::d2_star(int g) const { return std::sqrt(d2 * d2 + d3 * d3 / g); }

}  // namespace evenbevel
