#pragma once

#include <span>
#include <string>

#include "evenbevel/side_view.hpp"
#include "report/quantities.hpp"

namespace evenbevel {

using SideQuantity = QuantityOf<SideResult>;

/// Of the whole blade, in the order of the reports.
std::span<const SideQuantity> side_quantities();

/// Of one face at one station: "bevel_height" becomes bevel_height_left and bevel_height_right.
std::span<const QuantityOf<FaceStation>> face_quantities();

/// Of both faces at one station.
std::span<const QuantityOf<SideStation>> side_station_quantities();

inline std::string name_on(const char* quantity, Face face) {
  return std::string(quantity) + "_" + std::string(name(face));
}

inline const FaceStation& station_on(const SideStation& station, Face face) {
  return face == Face::left ? station.left : station.right;
}

inline constexpr Face kFaces[] = {Face::left, Face::right};

}  // namespace evenbevel
