#pragma once

#include <string>
#include <vector>

#include "evenbevel/edge_view.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {

/// What to do with the blade, from c(x), e(x) and the wanted land width: how much each face still
/// has to lose, in zones along the blade, and where a face is already past its line (then the best
/// centre that the remaining steel allows). One sentence each, most important first; the first one
/// stands alone on the terminal. Nothing the intervals do not support.
std::vector<std::string> edge_advice(const EdgeResult& result, std::optional<double> wanted_land_mm,
                                     std::optional<double> tolerance_mm, LengthUnit unit);

/// The usual cautions (for help, README and reports).
const std::vector<std::string>& cautions();

}  // namespace evenbevel
