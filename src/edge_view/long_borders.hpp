#pragma once

#include <vector>

#include "locate.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

/// A straight border along the blade, borne out by a whole stretch of it.
struct LongBorder {
  StripLine line;
  double gradient = 0.0;      ///< Mean over the stretch, grey levels per px, signed.
  double significance = 0.0;  ///< Mean over its standard error, signed: what noise, scratches and
                              ///< streaks leave of it.
};

/// A strip sampled as densely as the picture itself, so that no pixel along the blade is wasted:
/// what one column cannot tell from noise, a stretch of many can.
CoarseStrip fine_strip(const LaneImage& image, Light LaneImage::*light, const StripFrame& frame,
                       const StripRange& range, double px_per_mm);

/// Where borders are sought: along s, and across within a distance of a line that they run nearly
/// parallel to.
struct BorderSearch {
  double s_begin_mm = 0.0, s_end_mm = 0.0;
  StripLine about;
  double t_low_mm = 0.0, t_high_mm = 0.0;  ///< Relative to `about`.
  double turn = 0.002;                     ///< Slopes within this of that of `about`.
};

/// Every border that stands out of the scatter between places along the stretch, in order of t.
/// The means of 1 mm blocks are taken as independent.
std::vector<LongBorder> long_borders(const CoarseStrip& strip, double px_per_mm,
                                     const BorderSearch& search);

}  // namespace evenbevel::edge
