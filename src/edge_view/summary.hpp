#pragma once

#include <vector>

#include "metric.hpp"
#include "readings.hpp"

namespace evenbevel::edge {

/// Gaussian sigma from which on a photo is called soft.
inline constexpr double kSoftBlurPx = 1.8;

/// The flats' distance at the card's scale, from an edge height that does not rest on it.
void add_thickness(EdgeResult& result, const Metric& metric, double camera_height_mm);

/// What to be careful with, and how to take a better photo.
void add_warnings(EdgeResult& result, const std::vector<BandReadings>& bands);

/// The ricasso was seen, but not both plunge lines.
void add_plunge_warning(EdgeResult& result, bool ricasso_seen);

/// Where neither the maker nor plunge lines tell where the tip is, that comes first: on it hangs
/// the sign of every offset.
void add_tip_warning(EdgeResult& result, const EdgeSettings& settings, bool ricasso_seen);

}  // namespace evenbevel::edge
