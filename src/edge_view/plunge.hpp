#pragma once

#include <optional>

#include "inner.hpp"
#include "locate.hpp"
#include "plunge_outline.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

/// Where the edge's top face, as wide as the stock on the ricasso, has narrowed half-way to the
/// land, in the reference plane. How far that is depends on where the rim lies: the outline alone
/// holds for any rim.
struct PlungeLine {
  PlungeOutline outline;  ///< Its depth: from the rims as they were found.
  double zero_s_mm = 0.0;
  int toward_tip = 1;  ///< +1: the outline's a, 0 at zero_s_mm, grows with s.
  double u_mm = 0.0;   ///< Of the outline's place.

  double s_mm() const { return zero_s_mm + toward_tip * outline.half_mm; }
};

struct PlungeLines {
  std::optional<PlungeLine> high, low;  ///< high: toward positive t.
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
