#pragma once

#include <vector>

#include "axis.hpp"
#include "evenbevel/choil_view.hpp"
#include "outline.hpp"
#include "sides.hpp"
#include "warps.hpp"

namespace evenbevel::choil {

/// What the numbers rest on besides the outline.
struct Circumstances {
  std::vector<Warp> pose, lens;
  double print_u = 0.002;       ///< Relative.
  double distance_mm = 200.0;   ///< Camera to plane.
  double foot_offset_mm = 0.0;  ///< Camera beside the section, along y.
  double clipped_share = 0.0;
  double fringe_px = 0.0;  ///< The most by which what lies behind may move a border outward.
};

/// Fills in depths, outline, sides, angles, asymmetry, edge thickness, axis and budget.
void measure_section(ChoilResult& result, const Outline& outline, const SectionAxis& axis,
                     const SectionPlane& plane, const ChoilSettings& settings,
                     const Circumstances& around);

}  // namespace evenbevel::choil
