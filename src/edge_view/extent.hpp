#pragma once

#include "inner.hpp"
#include "locate.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

/// The blade's own stretch of the flats, and on which side of the land the handle lies.
struct BladeExtent {
  double s_begin_mm = 0.0, s_end_mm = 0.0;
  int handle = 0;  ///< +1: toward larger s; -1: toward smaller; 0: cannot be told.
};

/// Scribed: lines run from end to end. Ground or bevelled: on the handle's side the land runs into
/// the top of the full-width ricasso, which is the same surface and as bright; at the tip the
/// blade ends, and with it the land. Jaws beyond either end go on in nearly the same line as the
/// flats and are left out.
BladeExtent blade_extent(const CoarseStrip& strip, const FlatsPair& flats, const InnerTrace& trace,
                         bool has_ricasso);

}  // namespace evenbevel::edge
