#include <cmath>

#include "evenbevel/finish_view.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {

double axis_of(double direction_rad) {
  const double turned = std::fmod(direction_rad, kPi);
  return turned < 0.0 ? turned + kPi : turned;
}

double between_axes(double a_rad, double b_rad) {
  const double apart = axis_of(a_rad - b_rad);
  return std::min(apart, kPi - apart);
}

std::string_view direction_words(double direction_rad) {
  constexpr double kNear = radians(20.0);  // Common practice, no source.
  if (between_axes(direction_rad, 0.0) < kNear) return "along the blade";
  if (between_axes(direction_rad, 0.5 * kPi) < kNear) return "up and down";
  return axis_of(direction_rad) < 0.5 * kPi ? "leaning to the tip" : "leaning to the handle";
}

}  // namespace evenbevel
