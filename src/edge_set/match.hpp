#pragma once

#include <optional>

#include "evenbevel/edge_view.hpp"

namespace evenbevel::edges {

/// How the stations of two results of one blade belong together: x of the first is x of the second
/// plus `shift_mm`.
struct Match {
  double shift_mm = 0.0;
  double u_mm = 0.0;
  double misfit_mm = 0.0;   ///< RMS difference of the profiles' shapes there.
  double overlap_mm = 0.0;  ///< Length that both show.
};

/// By plunge lines or by ends, then by the shapes of offset and width along the blade. What an
/// offset or a width adds all along is no shape. Empty: they have less than 10 mm in common.
std::optional<Match> match_stations(const EdgeResult& first, const EdgeResult& second);

/// Offsets by x, linear between stations. Empty beside a gap of more than three steps.
std::optional<double> offset_at(const EdgeResult& result, double x_mm);

/// The station nearest to x of those with an offset, if it lies within a step and a half.
const EdgeStation* station_near(const EdgeResult& result, double x_mm);

}  // namespace evenbevel::edges
