#include "advice/facets.hpp"

#include <algorithm>
#include <cmath>

#include "edge_view/stations.hpp"

namespace evenbevel {

Measured Facets::mean_rad() const {
  // Assumed or measured, both share their causes: nothing averages out.
  return {.value = 0.5 * (left_rad.value + right_rad.value),
          .u = 0.5 * (left_rad.u + right_rad.u),
          .dof = std::min(left_rad.dof, right_rad.dof)};
}

Facets facets_of(const EdgeResult& result) {
  const Measured assumed{.value = result.assumed_facet_angle_rad, .u = edge::kFacetAngleU};
  return {.left_rad = result.facet_angle_left_rad.value_or(assumed),
          .right_rad = result.facet_angle_right_rad.value_or(assumed)};
}

double into_facet(double across_mm, const Measured& angle_rad) {
  return across_mm * std::cos(angle_rad.value);
}

Measured edge_to_lower(const Measured& land_mm, double wanted_mm, const Facets& facets) {
  const Measured angle_rad = facets.mean_rad();
  const double sine = std::sin(angle_rad.value);
  const double half_short_mm = 0.5 * (wanted_mm - land_mm.value);
  return {.value = half_short_mm / std::tan(angle_rad.value),
          .u = std::hypot(0.5 * land_mm.u / std::tan(angle_rad.value),
                          half_short_mm / (sine * sine) * angle_rad.u),
          .dof = land_mm.dof};
}

}  // namespace evenbevel
