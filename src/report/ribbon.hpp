#pragma once

#include <string>

#include "advice/zones.hpp"
#include "report/canvas.hpp"

namespace evenbevel {

// The ribbons beside the blade in the annotated pictures: what one face still has to lose there.

inline constexpr double kRibbonHeight = 42.0;

/// One stretch of a ribbon; its words are left out where they do not fit.
void draw_ribbon_part(Canvas& canvas, const Box& part, Standing what, const std::string& words);

}  // namespace evenbevel
