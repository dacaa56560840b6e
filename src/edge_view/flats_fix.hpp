#pragma once

#include <optional>

#include "rims.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

/// Where the rims beside the land must lie, from everything that speaks for it: each of them as
/// read, the ricasso's rims carried along the blade, and the stock's thickness, which makes the
/// distance at both places follow from one height of the edge.
struct FlatsFix {
  double high_shift_mm = 0.0, low_shift_mm = 0.0;  ///< To add to the rims as read beside the land.
  double u_mid_mm = 0.0;    ///< What borders beside the rims, broken corners and the carrying leave
                            ///< unknown of their middle; shared by all stations.
  double u_strip_mm = 0.0;  ///< And what strips of the flats' own faces below the rims do.
};

/// @param depth_mm  How deep below the edge the facets end.
/// Weighted least squares in the rims' middle and the edge's height.
FlatsFix fix_flats(const RimPair& beside, const std::optional<RimPair>& ricasso,
                   const StripFrame& frame, double px_per_mm, double thickness_mm, double depth_mm);

/// Where in the reference plane a place of one height over the card shows, if it lies at another.
double carried_mm(double t_mm, double from_mm, double to_mm, const StripFrame& frame);

/// What further borders next to a rim leave unknown of its place, standard uncertainty.
double shape_u_mm(const Rim& rim, double px_per_mm);

}  // namespace evenbevel::edge
