#pragma once

#include <optional>

#include "inner.hpp"
#include "locate.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

/// How much speaks for the unground ricasso beyond one end of the land: there both facets (or
/// bevels) end within a mm or two, and what lies beside the land's middle is the land's own face,
/// as bright as it and with its texture, while the land goes on as it was. A land that only fades
/// has no such place, and neither has the blade's own end.
struct RicassoSign {
  double log_odds = 0.0;     ///< Below 0: speaks against it.
  double plunge_s_mm = 0.0;  ///< Where the facets end, roughly.
};

/// @param rims  Roughly the flats' rims, as lines.
/// @param side  +1: toward larger s, -1: toward smaller.
RicassoSign ricasso_sign(const CoarseStrip& fine, const FlatsPair& rims, const InnerTrace& land,
                         int side);

/// Walking along the blade from a place: where face, land and facets all change at once, as they do
/// only at the blade's own end; else the limit.
double blade_end_mm(const CoarseStrip& fine, const FlatsPair& rims, const InnerTrace& land,
                    double from_mm, int direction, double limit_mm);

}  // namespace evenbevel::edge
