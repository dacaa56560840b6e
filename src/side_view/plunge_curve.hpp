#pragma once

#include <optional>
#include <vector>

#include "cues.hpp"
#include "evenbevel/fit.hpp"
#include "plunge.hpp"

namespace evenbevel::side {

/// The arc by which the crease runs into the bevel line, on the plane of the upper face.
struct PlungeArc {
  CircleFit circle;
  double turn_rad = 0.0;  ///< From the crease's direction to the bevel line's.
};

/// Among arcs that touch both the straight crease and the bevel line, the one under which the
/// picture shows a border best; its border is then read across the arc, and a circle fitted to
/// that. Empty: no arc that the picture resolves, or a crease that bends long before it: then the
/// bend has no one radius.
std::optional<PlungeArc> find_plunge_arc(const FaceImage& image, const PlungeLine& plunge,
                                         const std::vector<BevelReading>& bevel);

}  // namespace evenbevel::side
