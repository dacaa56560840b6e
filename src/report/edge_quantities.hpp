#pragma once

#include <span>
#include <string>

#include "evenbevel/edge_view.hpp"
#include "report/quantities.hpp"

namespace evenbevel {

using EdgeQuantity = QuantityOf<EdgeResult>;
using StationQuantity = QuantityOf<EdgeStation>;

/// Of the whole blade, in the order of the reports.
std::span<const EdgeQuantity> edge_quantities();

/// The same at one station; all of them lengths.
std::span<const StationQuantity> station_quantities();

/// Share of stations with a centreline offset.
double seen_share(const EdgeResult& result);

/// Whether the station has a quantity, and with it a place in the photo.
bool anything_seen(const EdgeStation& station);

/// "toward the left face"; empty when the interval holds zero.
std::string toward(const Measured& offset_mm);

/// What the stage is called in a sentence.
const char* stage_words(Stage stage);

}  // namespace evenbevel
