#include "evenbevel/statement.hpp"

#include <algorithm>

#include "evenbevel/units.hpp"

namespace evenbevel {

Stated stated_length(const Measured& mm) { return {mm.value, mm.u, U95(mm)}; }

Stated stated_angle(const Measured& rad) {
  const double factor = degrees(1.0);
  return {factor * rad.value, factor * rad.u, factor * U95(rad)};
}

const StatedQuantity* find(std::span<const StatedQuantity> quantities, std::string_view id) {
  const auto found = std::ranges::find(quantities, id, &StatedQuantity::id);
  return found == quantities.end() ? nullptr : &*found;
}

std::optional<Eigen::Vector2d> StatedStation::px(std::string_view face,
                                                 std::string_view what) const {
  for (const PhotoPlace& place : places) {
    if (place.face == face && place.what == what) return place.px;
  }
  return std::nullopt;
}

const char* left_and_right() {
  return "left and right are the knife's: edge down, tip away from you";
}

}  // namespace evenbevel
