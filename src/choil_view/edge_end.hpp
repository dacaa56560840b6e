#pragma once

#include <optional>
#include <span>

#include "evenbevel/trace.hpp"

namespace evenbevel::choil {

/// Where a section begins, in a profile that runs down across its edge: nothing, then a step (the
/// land) and a linear growth (the sides opening), both blurred. Seen from above the edge, the land
/// shows first, running off behind the end face: then there are two steps, and the second one
/// counts.
struct EdgeEnd {
  double at_px = 0.0;
  double u_px = 0.0;
  double step = 0.0;      ///< Light that the land takes away (negative: adds), mean of the window.
  double growth = 0.0;    ///< More of it a px.
  double above_px = 0.0;  ///< How far what lies behind shows above the edge; 0: not seen.
};

/// @param samples   t grows downward, from 0 where the edge is expected.
/// @param blur_px   Gaussian sigma, held.
/// @param reach_px  How far from there it may lie.
/// @param land_may_show  Whether the camera stands above the edge.
std::optional<EdgeEnd> find_edge_end(std::span<const ProfileSample> samples, double blur_px,
                                     double reach_px, bool land_may_show);

}  // namespace evenbevel::choil
