#pragma once

#include <span>
#include <vector>

#include "evenbevel/choil_view.hpp"
#include "report/quantities.hpp"

namespace evenbevel {

/// Of the whole section, those that were measured, in the order of the reports; the thickness at
/// the depths asked for stands apart.
std::vector<Quantity> choil_quantities(const ChoilResult& result);

/// All that there can be.
std::span<const QuantityName> choil_quantity_names();

/// At one depth; all of them lengths.
std::span<const QuantityOf<ChoilDepth>> depth_quantities();

/// The whole section seen, or the depths asked for when there is no more.
const std::vector<ChoilDepth>& choil_stations(const ChoilResult& result);

}  // namespace evenbevel
