#pragma once

#include "readings.hpp"

namespace evenbevel::edge {

// What stretches of some mm along the followed pair say of its shape: noise and scratches average
// out there.

/// Share of the long bands in which a third border shows inside of the land: then one of the two
/// may be a shade of the facet, and the third the land's.
double third_border_share(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                          const InnerTrace& inner, const ReadingPlan& plan);

/// How well two lines, or a land, explain the profiles: mean over bands of
/// log(residual / contrast) at about the plan's blur. Stops, with a bound, once it is sure to stay
/// above `needed`.
double mean_log_misfit(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                       const InnerTrace& inner, const ReadingPlan& plan, double needed);

}  // namespace evenbevel::edge
