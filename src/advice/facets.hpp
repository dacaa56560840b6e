#pragma once

#include "evenbevel/edge_view.hpp"
#include "evenbevel/face.hpp"

namespace evenbevel {

/// The edge facets' angles from the mid-plane: measured, or as they were assumed.
struct Facets {
  Measured left_rad, right_rad;

  const Measured& on(Face face) const { return face == Face::left ? left_rad : right_rad; }
  Measured mean_rad() const;
};

Facets facets_of(const EdgeResult& result);

/// What comes off square to the facet where its border moves by `across_mm`, seen from above.
double into_facet(double across_mm, const Measured& angle_rad);

/// By how much the edge must come down so that a centred land of `land_mm` becomes `wanted_mm`
/// wide: lowered by d, either border moves out by d tan(facet angle).
Measured edge_to_lower(const Measured& land_mm, double wanted_mm, const Facets& facets);

}  // namespace evenbevel
