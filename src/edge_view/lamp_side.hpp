#pragma once

#include "locate.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

/// From which side the light comes, by the shadow that the blade throws on jaws and card beside it:
/// 0 evenly from both, +1 from high alone, -1 from low alone.
double lamp_side(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                 double px_per_mm);

// A scribed line is a groove. Of its two walls the one that faces the lamp shines and the other
// does not: narrower than the blur, the line then shows beside its middle, by up to a quarter of
// its width, toward the side away from the lamp.

inline constexpr double kGrooveMm = 0.05;  // Width of a scribed line: common practice, no source.

/// How far the lines' middles lie from where they show, across, toward high.
double groove_shift_mm(double lamp_side);

/// Standard uncertainty of that (type B): walls mirror as they like.
double groove_u_mm(double lamp_side);

}  // namespace evenbevel::edge
