#include "drawn_step.hpp"

#include <algorithm>
#include <cmath>

namespace evenbevel::test {
namespace {

constexpr double kPi = 3.14159265358979;

double cumulative(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }
double density(double z) { return std::exp(-0.5 * z * z) / std::sqrt(2.0 * kPi); }

/// The blurred step's integral, and the integral of that.
double integral(double t, double sigma) {
  return t * cumulative(t / sigma) + sigma * density(t / sigma);
}
double integral_twice(double t, double sigma) {
  return 0.5 * ((t * t + sigma * sigma) * cumulative(t / sigma) + t * sigma * density(t / sigma));
}

}  // namespace

// Across the edge a pixel's square is a trapezium: its sides' shadows, one spread over the other.
double drawn_step(double from_edge_px, double sigma_px, double slant_rad) {
  const double across = std::abs(std::cos(slant_rad)), along = std::abs(std::sin(slant_rad));
  const double broad = std::max(across, along), narrow = std::min(across, along);
  const double t = from_edge_px, s = sigma_px;
  constexpr double kSquareOn = 1e-3;
  if (narrow < kSquareOn) return integral(t + 0.5, s) - integral(t - 0.5, s);
  const double outer = 0.5 * (broad + narrow), inner = 0.5 * (broad - narrow);
  return (integral_twice(t + outer, s) - integral_twice(t + inner, s) -
          integral_twice(t - inner, s) + integral_twice(t - outer, s)) /
         (broad * narrow);
}

}  // namespace evenbevel::test
