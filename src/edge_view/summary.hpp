#pragma once

#include <vector>

#include "metric.hpp"
#include "readings.hpp"

namespace evenbevel::edge {

/// Means, worst place, coverage and budget from the result's stations and the metric.
void summarise(EdgeResult& result, const Metric& metric);

/// What to be careful with, and how to take a better photo.
void add_warnings(EdgeResult& result, const std::vector<BandReadings>& bands,
                  const EdgeSettings& settings, bool tip_seen);

}  // namespace evenbevel::edge
