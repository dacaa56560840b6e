#pragma once

#include <optional>
#include <string>
#include <vector>

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

/// Everything the sentences and the ribbons of the picture say, in order from handle to tip.
struct GrindPlan {
  std::vector<Zone> zones;  ///< Empty: nothing is resolved.
  AdviceContext context;
};
GrindPlan grind_plan(const EdgeResult& result, std::optional<double> wanted_mm,
                     std::optional<double> tolerance_mm, LengthUnit unit);

/// What one face asks for in a zone: nothing when the zone is within the tolerance.
Standing face_standing(const Zone& zone, Face face, const AdviceContext& context);

/// The same in a few words: "off 0.080 to 0.167 mm", "leave", "0.040 mm past its line".
std::string face_words(const Zone& zone, Face face, const AdviceContext& context);

/// "from 12 to 48 mm", "along the whole blade".
std::string where(const Zone& zone, const AdviceContext& context);

/// Which plunge line is nearer the tip.
/// @param who_resolves  "this photo resolves".
std::string plunge_sentence(const Measured& mismatch_mm, const std::string& who_resolves,
                            LengthUnit unit);

}  // namespace evenbevel
