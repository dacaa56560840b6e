#pragma once

#include <optional>
#include <vector>

#include "advice/facets.hpp"
#include "advice/land_left.hpp"
#include "advice/zones.hpp"
#include "evenbevel/words.hpp"

namespace evenbevel {

/// What the advice on a zone hangs on beside it.
struct GrindContext {
  Stage stage = Stage::ground;
  LandGoal goal;  ///< Or the gap between the lines.
  std::optional<double> tolerance_mm;
  Facets facets;
  bool one_zone = false;  ///< It asks for the same along the whole blade.
};

/// Everything that the advice and the ribbons of the picture say, in order from handle to tip.
struct GrindPlan {
  std::vector<Zone> zones;  ///< Empty: nothing is resolved.
  GrindContext context;
};
GrindPlan grind_plan(const EdgeResult& result, std::optional<double> wanted_mm,
                     std::optional<double> tolerance_mm);

/// What to do in one zone, able to stand alone: how much, what is left of the land, whether that is
/// enough, and the other way out. No cut that leaves no land for certain.
Remark zone_remark(const Zone& zone, const GrindContext& context);

/// Where the zone lies, unless it is the whole blade.
void add_where(RemarkDraft& draft, const Zone& zone, const GrindContext& context);

/// The same where two lines are scribed.
Remark scribe_remark(const Zone& zone, const GrindContext& context);

/// What comes off a face that is not to go to its line, since a face is past its own: for the best
/// centre that the steel still allows. Empty: the zone asks for no such cut of this face.
std::optional<Measured> centring_cut(const Zone& zone, Face face, const GrindContext& context);

/// What one face asks for in a zone: nothing when the zone is within the tolerance.
Standing face_standing(const Zone& zone, Face face, const GrindContext& context);

/// The same in a few words, for the ribbon.
Remark face_remark(const Zone& zone, Face face, const GrindContext& context);

}  // namespace evenbevel
