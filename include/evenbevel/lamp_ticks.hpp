#pragma once

#include <array>
#include <optional>
#include <string_view>

namespace evenbevel {

/// A mark in the side card's margin: for the finish view the lamp stands out from the card's middle
/// through it. Four of them, 45 degrees apart, show scratches of every direction.
struct LampTick {
  int number;              ///< As printed beside it.
  double azimuth_rad;      ///< From the card's x toward its y.
  std::string_view where;  ///< For cards printed without it; the card's text upright.
};

const std::array<LampTick, 4>& lamp_ticks();

/// The one nearest to a lamp's azimuth; empty where none is within half their distance.
std::optional<LampTick> lamp_tick_at(double azimuth_rad);

/// The one from which a lamp lights as it does from there or from opposite.
LampTick lamp_tick_on_axis(double azimuth_rad);

}  // namespace evenbevel
