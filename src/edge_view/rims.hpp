#pragma once

#include <optional>
#include <vector>

#include "dye_ends.hpp"
#include "locate.hpp"
#include "long_borders.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

// Which borders are the flats' rims. A rim is the first border met going outward over the blade's
// top: behind it come the flat itself, seen obliquely below its rim on the side where the camera
// stands, then jaws, gaps and shadows, often with the stronger borders. Borders a few px apart are
// told apart by fitting all of them together to what a long stretch shows.

inline constexpr double kWidestCornerMm = 0.05;  ///< Broken by hand: common practice, no source.

/// Of a ground edge's facets, over the stock: half of it less half a usual land, at 45 degrees.
inline constexpr double kFacetDepthShare = 0.43;

/// Of the flat below the edge, where the camera stands beyond its rim: generous.
inline constexpr double kLeastSeenMm = 1.6, kMostSeenMm = 14.0;

/// How far the camera stands beyond a border, over its height: above 0, it sees the flat below.
/// @param side  +1: the border toward positive t.
double aslant_at(const StripFrame& frame, double t_mm, int side);

/// A rim as one stretch of the blade shows it.
struct Rim {
  StripLine line;
  double step = 0.0;              ///< Linear light, outward.
  double beside_share = 0.0;      ///< Steps of the nearest of these over the rim's own.
  std::vector<double> beside_mm;  ///< Further borders within reach of its blur, outward positive.
  double hidden_strip_px = 0.0;   ///< Of the flat's own face, which the camera sees below the rim:
                                  ///< as wide as it may be without being told apart.
};

/// Both rims along one stretch.
struct RimPair {
  Rim high, low;
  double s_begin_mm = 0.0, s_end_mm = 0.0;
  double log_score = 0.0;  ///< Log of how likely, against other pairs of the same stretch.

  double mid_mm(double s_mm) const { return 0.5 * (high.line.t_mm(s_mm) + low.line.t_mm(s_mm)); }
  double width_mm(double s_mm) const { return high.line.t_mm(s_mm) - low.line.t_mm(s_mm); }
};

struct RimSearch {
  double s_begin_mm = 0.0, s_end_mm = 0.0;
  StripLine middle;          ///< Of the blade, roughly,
  double keep_out_mm = 0.0;  ///< and so far from it there is no rim, but the land or lines.
  double width_low_mm = 0.0, width_high_mm = 0.0;
  double width_usual_mm = 0.0, width_usual_u_mm = 0.0;  ///< u = 0: none is likelier.
  double blur_px = 0.7;
  std::optional<ExpectedMid> mid = std::nullopt;  ///< Empty: anywhere.
  Light LaneImage::*light = &LaneImage::flats;
  bool broken_corners = false;                ///< Of an unground face; a facet's shoulder is sharp.
  std::optional<DyeEnds> dye = std::nullopt;  ///< From `middle` outward.
};

/// The pair where the search's dye ends, as wide as it should be; empty: it is not. Borders may not
/// show there in the light that rims are sought in: steel as bright as the dye, a scratched face.
std::optional<RimPair> rims_by_dye(const StripFrame& frame, double px_per_mm,
                                   const RimSearch& search);

/// Pairs that may be the rims, the likeliest first.
std::vector<RimPair> find_rims(const LaneImage& image, const CoarseStrip& fine,
                               const StripFrame& frame, double px_per_mm, const RimSearch& search);

}  // namespace evenbevel::edge
