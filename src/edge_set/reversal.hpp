#pragma once

#include "evenbevel/edge_view.hpp"

namespace evenbevel::edges {

/// What a second photo with the blade turned leaves of one station's budget. `same_side`: +1 when
/// the camera stood on the same side of the blade in both (blade frame), else -1.
std::vector<BudgetLine> turned_budget(const std::vector<BudgetLine>& budget,
                                      const std::vector<BudgetLine>& turned, double same_side);

/// Half the sum of two results is the blade's, half their difference the set-up's. Where nothing in
/// a photo told where the tip is, it is taken from the other one.
/// @throws Error  The blade was not turned, or the two have no stretch of the blade in common.
EdgeResult reverse(const EdgeResult& as_clamped, const EdgeResult& turned);

}  // namespace evenbevel::edges
