#pragma once

#include <optional>
#include <vector>

#include "evenbevel/edge_view.hpp"
#include "locate.hpp"

namespace evenbevel::edge {

/// Two borders near the middle of the blade: the scribe lines' centres or the land's edges,
/// followed along the blade in the coarse strip. Sub-pixel comes later, from the photo itself.
struct InnerTrace {
  struct Place {
    double s_mm;
    double low_mm, high_mm;  ///< t in the reference plane.

    double mid_mm() const { return 0.5 * (low_mm + high_mm); }
  };
  std::vector<Place> places;  ///< In order of s.
  double strength = 0.0;      ///< Mean response along the path, grey levels (per px for a land).

  double s_begin_mm() const { return places.front().s_mm; }
  double s_end_mm() const { return places.back().s_mm; }
  /// Interpolated; constant beyond the ends.
  Place at(double s_mm) const;
};

/// Search limits of the inner pair.
struct InnerSearch {
  StripLine mid;                 ///< The flats' mid-line.
  double half_width_mm = 0.0;    ///< How far from it the pair's middle may lie,
  double border_limit_mm = 0.0;  ///< and either border: inside of the flats' rims.
  double gap_low_mm = 0.08, gap_high_mm = 1.2;
  double s_low_mm = 0.0, s_high_mm = 0.0;
  double line_width_mm = 0.05;
};

/// Two thin lines, both bright or both dark: every pair that can be followed.
std::vector<InnerTrace> follow_lines(const CoarseStrip& strip, double px_per_mm,
                                     const InnerSearch& search);

/// Two steps with a strip between them: every pair that can be followed.
std::vector<InnerTrace> follow_land(const CoarseStrip& strip, double px_per_mm,
                                    const InnerSearch& search);

}  // namespace evenbevel::edge
