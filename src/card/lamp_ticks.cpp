#include "evenbevel/lamp_ticks.hpp"

#include <algorithm>
#include <cmath>

#include "evenbevel/units.hpp"

namespace evenbevel {
namespace {

double apart(double a_rad, double b_rad) {
  return std::abs(std::remainder(a_rad - b_rad, 2.0 * kPi));
}

double apart_as_axes(double a_rad, double b_rad) {
  return std::abs(std::remainder(a_rad - b_rad, kPi));
}

}  // namespace

const std::array<LampTick, 4>& lamp_ticks() {
  static constexpr std::array<LampTick, 4> kTicks = {
      {{1, kPi, "left of the card"},
       {2, 0.75 * kPi, "beyond its upper left corner"},
       {3, 0.5 * kPi, "beyond its upper edge"},
       {4, 0.25 * kPi, "beyond its upper right corner"}}};
  return kTicks;
}

std::optional<LampTick> lamp_tick_at(double azimuth_rad) {
  constexpr double kHalfWay = radians(22.5);
  for (const LampTick& tick : lamp_ticks()) {
    if (apart(tick.azimuth_rad, azimuth_rad) <= kHalfWay) return tick;
  }
  return std::nullopt;
}

LampTick lamp_tick_on_axis(double azimuth_rad) {
  return *std::ranges::min_element(lamp_ticks(), {}, [&](const LampTick& tick) {
    return apart_as_axes(tick.azimuth_rad, azimuth_rad);
  });
}

}  // namespace evenbevel
