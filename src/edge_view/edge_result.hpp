#pragma once

#include "blade_reading.hpp"
#include "placement.hpp"

namespace evenbevel::edge {

/// Fourth step: the numbers in the blade's own x (from the plunge lines' middle, where they show),
/// with the traces for the picture. Nothing is judged here.
/// @param plunge_view_u_mm  Of the distance between the plunge lines, beyond their own.
EdgeResult result_of(const Placement& placed, const BladeReading& read, double px_per_mm,
                     double plunge_view_u_mm);

}  // namespace evenbevel::edge
