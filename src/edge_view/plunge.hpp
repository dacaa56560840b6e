#pragma once

#include <optional>

#include "inner.hpp"
#include "locate.hpp"
#include "readings.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

/// Where the edge's top face, as wide as the stock on the ricasso, has narrowed half-way to the
/// land: s of each plunge line at half depth, in the reference plane, with a standard uncertainty.
struct PlungeLines {
  std::optional<Reading> high, low;  ///< t_mm holds s; high: toward positive t.
  double both_u_mm =
      0.0;  ///< What moves both alike, not in theirs: light beyond the camera's range.
};

/// Looks where the land meets the unground stock. `handle_sign`: +1 when the handle lies toward
/// larger s, -1 otherwise. The land's end may be off by a few mm, the rims and the land's borders
/// by a few hundredths.
PlungeLines find_plunges(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                         const InnerTrace& inner, Stage stage, int handle_sign, double blur_px);

/// How much likelier the photo is with both plunge lines at that end of the land than with straight
/// cuts or none there, natural logarithm. Below 0: no plunge lines.
double plunge_evidence(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                       const InnerTrace& inner, Stage stage, int handle_sign, double blur_px);

}  // namespace evenbevel::edge
