#pragma once

#include "inner.hpp"
#include "locate.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

/// The stretch along which the blade's flats show, and on which side of the land the handle lies.
struct BladeExtent {
  double s_begin_mm = 0.0, s_end_mm = 0.0;
  int handle = 0;  ///< +1: toward larger s; -1: toward smaller; 0: cannot be told.
};

/// Scribed: lines and flats run from end to end. Ground: the flats show beside the land and on the
/// full-width ricasso, which lies on the handle's side. Bevelled: on the ricasso only. Jaws beyond
/// the blade go on in nearly the same line as the flats and are left out.
BladeExtent blade_extent(const CoarseStrip& strip, double px_per_mm, const FlatsPair& flats,
                         const InnerTrace& trace, Stage stage);

}  // namespace evenbevel::edge
