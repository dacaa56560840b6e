#pragma once

#include <functional>
#include <optional>

#include "advice/facets.hpp"
#include "advice/zones.hpp"
#include "evenbevel/words.hpp"

namespace evenbevel {

/// Left before the bevels and hardening where the maker names no width; common practice, no source.
inline constexpr double kUsualLand_mm = 0.3;

/// Land as wide as the maker wants it, or as is usual.
struct LandGoal {
  std::optional<double> wanted_mm;

  double mm() const { return wanted_mm.value_or(kUsualLand_mm); }
};

/// What is left of the land along a stretch.
struct LandLeft {
  Measured mm;                 ///< Where it gets narrowest.
  std::optional<double> x_mm;  ///< There; empty: alike along the stretch, as far as can be told.

  bool surely_some() const;
};

/// @param off  What comes off across the land at one place, u included.
/// @param off_changes  Along the stretch, by more than can be told: then the narrowest place is
/// said
///                     whatever it differs by, since it is where the most comes off.
/// @return  Empty: the land does not show.
std::optional<LandLeft> land_left(const Zone& zone, const std::function<Measured(const Need&)>& off,
                                  bool off_changes = false);

/// How wide, against the goal: short of it or above it only where the whole interval is.
void add_land(RemarkDraft& draft, const LandLeft& left, const LandGoal& goal);

/// By how much the edge would have to be lowered to reach the goal; nothing where the land may be
/// enough.
void add_lowering(RemarkDraft& draft, const LandLeft& left, const LandGoal& goal,
                  const Facets& facets);

}  // namespace evenbevel
