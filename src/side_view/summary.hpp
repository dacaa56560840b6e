#pragma once

#include <optional>

#include "evenbevel/side_view.hpp"
#include "face_numbers.hpp"
#include "registration.hpp"

namespace evenbevel::side {

/// Both faces in the blade's frame, or one.
struct Faces {
  std::optional<FaceReading> left, right;
  std::optional<Registration> registration;
  bool x_from_plunge = false;
};

/// Stations, means, worst places, plunge lines, budget, warnings.
SideResult summarise(const Faces& faces, const SideSettings& settings);

}  // namespace evenbevel::side
