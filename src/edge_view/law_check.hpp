#pragma once

#include <vector>

#include "metric.hpp"

namespace evenbevel::edge {

/// Everything that goes from the readings to the numbers.
struct Chain {
  const std::vector<BandReadings>& bands;
  const CameraPlace& camera;
  const MetricSettings& settings;
};

/// The law of propagation's summary against trials in which readings, camera place, thickness,
/// facet angle, heights and the shared causes are drawn from what is known of them, and everything
/// after the readings is done anew.
/// @param metric, summary  As the law has them; one station a band.
std::vector<QuantityCheck> check_law(const Chain& chain, const Metric& metric,
                                     const EdgeResult& summary, const MonteCarloSettings& settings);

/// The datum that a stage calls for.
Datum datum_of(const std::vector<BandReadings>& bands, Stage stage);

}  // namespace evenbevel::edge
