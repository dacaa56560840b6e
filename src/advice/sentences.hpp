#pragma once

#include <optional>
#include <string>

#include "advice/zones.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {

/// What the sentences are about.
struct AdviceContext {
  Stage stage = Stage::ground;
  LengthUnit unit = LengthUnit::mm;
  std::optional<double> wanted_mm;  ///< Land, or gap between the lines.
  std::optional<double> tolerance_mm;
  double from_mm = 0.0, to_mm = 0.0;  ///< The stretch that was measured.
  double tan_facet = 1.0;             ///< Of the facets' angle from the mid-plane.
};

/// One sentence for one zone, able to stand alone.
std::string zone_sentence(const Zone& zone, const AdviceContext& context);

/// "from 12 to 48 mm", "along the whole blade".
std::string where(const Zone& zone, const AdviceContext& context);

}  // namespace evenbevel
