#pragma once

#include <optional>
#include <span>

#include "evenbevel/trace.hpp"

namespace evenbevel::choil {

/// Where a section begins, in a profile that runs down across its edge: nothing, then a step (the
/// land) and a linear growth (the sides opening), both blurred.
struct EdgeEnd {
  double at_px = 0.0;
  double u_px = 0.0;
  double step = 0.0;    ///< Light that the land takes away (negative: adds), mean of the window.
  double growth = 0.0;  ///< More of it a px.
};

/// @param samples   t grows downward, from 0 where the edge is expected.
/// @param blur_px   Gaussian sigma, held.
std::optional<EdgeEnd> find_edge_end(std::span<const ProfileSample> samples, double blur_px);

}  // namespace evenbevel::choil
