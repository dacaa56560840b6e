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
};

/// Looks where the land meets the unground stock. `handle_sign`: +1 when the handle lies toward
/// larger s, -1 otherwise.
PlungeLines find_plunges(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                         const InnerTrace& inner, Stage stage, int handle_sign, double blur_px);

}  // namespace evenbevel::edge
