#pragma once

#include <optional>

#include "inner.hpp"
#include "locate.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

// Where layout dye ends. Dye parts the face from bare steel, jaws and shadows by colour, whatever
// their brightness: what is grey sends nothing of the dye's own light.

/// Where the dye ends on either side, outward from a rough middle line at the middle of a stretch.
/// Chroma is kept at half the picture's resolution: it tells which border is meant, not its place.
struct DyeEnds {
  double high_mm = 0.0, low_mm = 0.0;
};

struct DyeSearch {
  double s_begin_mm = 0.0, s_end_mm = 0.0;
  StripLine middle;
  double least_mm = 0.0, most_mm = 0.0;  ///< Outward.
};

/// Empty: no dye there, or none that ends in most places along the stretch.
std::optional<DyeEnds> dye_ends(const LaneImage& image, const StripFrame& frame, double px_per_mm,
                                const DyeSearch& search);

/// How far the middle of a land's dye lies from the middle of what was followed as its borders, mm
/// toward +t: the land is what no belt has touched, and keeps its dye.
/// @param reach_mm  From the middle, how far dye is sought.
/// Empty: no dye along most of it.
std::optional<double> dyed_land_off_mm(const LaneImage& image, const StripFrame& frame,
                                       double px_per_mm, const InnerTrace& land, double reach_mm);

}  // namespace evenbevel::edge
