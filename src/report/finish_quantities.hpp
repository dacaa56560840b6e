#pragma once

#include <array>

#include "report/quantities.hpp"

namespace evenbevel {

/// What the finish view states, face by face.
inline constexpr std::array<QuantityName, 6> kFinishQuantities = {
    {{"scratches_left", "scratches a cm2, left", QuantityKind::per_area},
     {"scratch_length_left", "length of scratches a cm2, left", QuantityKind::length_per_area},
     {"scratch_direction_left", "direction of most, left", QuantityKind::angle},
     {"scratches_right", "scratches a cm2, right", QuantityKind::per_area},
     {"scratch_length_right", "length of scratches a cm2, right", QuantityKind::length_per_area},
     {"scratch_direction_right", "direction of most, right", QuantityKind::angle}}};

}  // namespace evenbevel
