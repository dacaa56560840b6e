#include "stations.hpp"

#include <algorithm>
#include <cmath>

#include "along.hpp"

namespace evenbevel::edge {
double toward_left(double angle_rad, Tip tip) { return tip == Tip::left ? angle_rad : -angle_rad; }

std::optional<Measured> mean_of(const std::vector<EdgeStation>& stations,
                                std::optional<Measured> EdgeStation::*which) {
  std::vector<Measured> values;
  double first_mm = 0.0, last_mm = 0.0;
  for (const EdgeStation& s : stations) {
    if (!(s.*which)) continue;
    if (values.empty()) first_mm = s.x_mm;
    last_mm = s.x_mm;
    values.push_back(*(s.*which));
  }
  if (values.empty()) return std::nullopt;
  return mean_along(values, last_mm - first_mm);
}

std::optional<Measured> mean_offset(const std::vector<EdgeStation>& stations) {
  return mean_of(stations, &EdgeStation::centreline_offset_mm);
}

void summarise(EdgeResult& result, const std::optional<Measured>& mean_offset_mm) {
  result.centreline_offset_mm = mean_offset_mm;
  int seen = 0;
  const EdgeStation* worst = nullptr;
  for (const EdgeStation& s : result.stations) {
    if (!s.centreline_offset_mm) continue;
    ++seen;
    if (worst == nullptr ||
        std::abs(s.centreline_offset_mm->value) > std::abs(worst->centreline_offset_mm->value)) {
      worst = &s;
    }
  }
  result.coverage = result.stations.empty()
                        ? 0.0
                        : static_cast<double>(seen) / static_cast<double>(result.stations.size());
  if (worst != nullptr) {
    const Measured& c = *worst->centreline_offset_mm;
    result.centreline_offset_worst_mm = c;
    result.worst_x_mm = worst->x_mm;
    result.symmetry_mm = times(c.value < 0.0 ? -2.0 : 2.0, c);
  }
  result.line_gap_mm = mean_of(result.stations, &EdgeStation::line_gap_mm);
  result.land_width_mm = mean_of(result.stations, &EdgeStation::land_width_mm);
  result.land_taper_mm = land_taper_mm(result.stations);
  result.facet_width_left_mm = mean_of(result.stations, &EdgeStation::facet_width_left_mm);
  result.facet_width_right_mm = mean_of(result.stations, &EdgeStation::facet_width_right_mm);
  if (result.facet_width_left_mm && result.centreline_offset_mm) {
    // wL - wR = -2c: what moves all borders outward alike leaves the difference alone.
    result.facet_width_difference_mm = times(-2.0, *result.centreline_offset_mm);
    result.facet_width_difference_mm->value =
        result.facet_width_left_mm->value - result.facet_width_right_mm->value;
  }
}

}  // namespace evenbevel::edge
