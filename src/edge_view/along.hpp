#pragma once

#include <optional>
#include <vector>

#include "evenbevel/edge_view.hpp"
#include "placement.hpp"

namespace evenbevel::edge {

// What changes along the blade.

/// By how much the land is wider 100 mm nearer to the tip: least-squares line through the stations'
/// widths. Empty: too few stations, or over too short a stretch.
std::optional<Measured> land_taper_mm(const std::vector<EdgeStation>& stations);

/// Bow of the blade as it is clamped: height of the flats' mid-line over the chord between the ends
/// of what was read, of the parabola that fits it best; positive toward the left face.
/// Only where rims were read all along by themselves. Empty: they were not, or over too short a
/// stretch.
std::optional<Measured> bow_mm(const Placement& placed);

}  // namespace evenbevel::edge
