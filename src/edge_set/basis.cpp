#include "basis.hpp"

#include <algorithm>
#include <cmath>

namespace evenbevel::edges {

Basis Basis::constant() { return {0, 1, 0.0, 1.0}; }

Basis Basis::line(double begin_mm, double end_mm) { return {1, 1, begin_mm, end_mm - begin_mm}; }

Basis Basis::smooth(double begin_mm, double end_mm, double knots_mm) {
  const int pieces = std::max(1, static_cast<int>(std::ceil((end_mm - begin_mm) / knots_mm)));
  return {3, pieces, begin_mm, (end_mm - begin_mm) / pieces};
}

Basis::Weights Basis::at(double s_mm) const {
  Weights out;
  out.count = degree_ + 1;
  if (degree_ == 0) {
    out.value[0] = 1.0;
    return out;
  }
  const double place = (s_mm - begin_) / spacing_;
  if (degree_ == 1) {
    out.value = {1.0 - place, place};
    out.slope = {-1.0 / spacing_, 1.0 / spacing_};
    return out;
  }
  const double held = std::clamp(place, 0.0, static_cast<double>(pieces_));
  out.first = std::min(static_cast<int>(held), pieces_ - 1);
  const double u = held - out.first, v = 1.0 - u;
  out.value = {v * v * v / 6.0, (3.0 * u * u * u - 6.0 * u * u + 4.0) / 6.0,
               (3.0 * v * v * v - 6.0 * v * v + 4.0) / 6.0, u * u * u / 6.0};
  if (held == place) {
    out.slope = {-0.5 * v * v, 1.5 * u * u - 2.0 * u, -1.5 * v * v + 2.0 * v, 0.5 * u * u};
    for (double& slope : out.slope) slope /= spacing_;
  }
  return out;
}

}  // namespace evenbevel::edges
