#pragma once

#include <functional>

#include "evenbevel/uncertainty.hpp"
#include "placement.hpp"

namespace evenbevel::edge {

/// Both plunge lines at half the depth of their facets, in mm along the blade.
struct PlacedPlunges {
  Measured left_mm, right_mm, mismatch_mm;  ///< Left less right.
};

/// A facet is as deep as half the stock less half the land and the land's offset leave: this is
/// known better than from a rim beside the plunge line, whose corner may be broken and which lies
/// lower than the edge. Where no station near by has these numbers, the depth stays as found.
/// @param x_of  From s in the reference plane, not mirrored, to mm along the blade.
/// @param view_u_mm  Of the distance between the lines, beyond all that.
/// @pre Both lines were found.
PlacedPlunges place_plunges(const Placement& placed, const std::function<double(double)>& x_of,
                            double view_u_mm);

}  // namespace evenbevel::edge
