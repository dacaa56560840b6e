#pragma once

#include <optional>
#include <span>

namespace evenbevel {

/// Where the land's borders stand at one place, from the mid-plane, positive to the left face.
struct LandBorders {
  double left_mm = 0.0;
  double right_mm = 0.0;
};

/// A straight land that a stretch of the edge can be ground to.
struct LandAim {
  double left_mm = 0.0, right_mm = 0.0;  ///< Its borders, from the mid-plane.

  double centre_mm() const { return 0.5 * (left_mm + right_mm); }
  double width_mm() const { return left_mm - right_mm; }
};

// Grinding a facet only moves its border toward the other one. Lowering the edge by d moves both
// out again, by d tan(facet angle from the mid-plane).

/// At the edge's present height: first the least |centre|, then the width nearest to `wanted_mm`.
/// Empty: no straight land is left, the edge wanders by more than its width.
/// @pre At least one place, wanted_mm >= 0.
std::optional<LandAim> centred_land(std::span<const LandBorders> steel, double wanted_mm);

/// Width of the widest land that can be centred at the edge's present height. Negative: a border
/// has crossed the middle, by half of that. @pre At least one place.
double widest_centred_mm(std::span<const LandBorders> steel);

}  // namespace evenbevel
