#include "advice/aim.hpp"

#include <algorithm>

namespace evenbevel {
namespace {

/// What the whole stretch allows: the innermost place of either border.
LandBorders innermost(std::span<const LandBorders> steel) {
  LandBorders all = steel.front();
  for (const LandBorders& here : steel) {
    all.left_mm = std::min(all.left_mm, here.left_mm);
    all.right_mm = std::max(all.right_mm, here.right_mm);
  }
  return all;
}

}  // namespace

std::optional<LandAim> centred_land(std::span<const LandBorders> steel, double wanted_mm) {
  const LandBorders limit = innermost(steel);
  if (limit.left_mm < limit.right_mm) return std::nullopt;
  const double half_mm = std::min({0.5 * wanted_mm, limit.left_mm, -limit.right_mm});
  if (half_mm >= 0.0) return LandAim{.left_mm = half_mm, .right_mm = -half_mm};
  const double crossed_mm = limit.left_mm < 0.0 ? limit.left_mm : limit.right_mm;
  return LandAim{.left_mm = crossed_mm, .right_mm = crossed_mm};
}

double widest_centred_mm(std::span<const LandBorders> steel) {
  const LandBorders limit = innermost(steel);
  return 2.0 * std::min(limit.left_mm, -limit.right_mm);
}

}  // namespace evenbevel
