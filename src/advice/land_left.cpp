#include "advice/land_left.hpp"

#include <algorithm>
#include <limits>

namespace evenbevel {
namespace {

enum class Against { short_of, about, above };

Against compared(const LandLeft& left, const LandGoal& goal) {
  const double U = U95(left.mm);
  if (left.mm.value + U < goal.mm()) return Against::short_of;
  return left.mm.value - U >= goal.mm() ? Against::above : Against::about;
}

}  // namespace

bool LandLeft::surely_some() const { return mm.value > U95(mm); }

std::optional<LandLeft> land_left(const Zone& zone, const std::function<Measured(const Need&)>& off,
                                  bool off_changes) {
  Measured mean, narrowest{.value = std::numeric_limits<double>::infinity()};
  double narrowest_x_mm = 0.0, count = 0.0;
  for (const Need& need : zone.needs) {
    if (!need.width_mm) continue;
    const Measured taken = off(need);
    // Width and offset share their causes in part; adding the u's is the safe side.
    const Measured here{.value = need.width_mm->value - taken.value,
                        .u = need.width_mm->u + taken.u,
                        .dof = std::min(need.width_mm->dof, taken.dof)};
    mean = {mean.value + here.value, mean.u + here.u, std::min(mean.dof, here.dof)};
    if (here.value < narrowest.value) {
      narrowest = here;
      narrowest_x_mm = need.x_mm;
    }
    count += 1.0;
  }
  if (count == 0.0) return std::nullopt;
  mean.value /= count;
  mean.u /= count;
  const bool alike = !off_changes && mean.value - narrowest.value <= U95(mean);
  if (alike) return LandLeft{.mm = mean, .x_mm = {}};
  return LandLeft{.mm = narrowest, .x_mm = narrowest_x_mm};
}

void add_land(RemarkDraft& draft, const LandLeft& left, const LandGoal& goal) {
  draft.with("land_mm", left.mm.value).with("land_U95_mm", U95(left.mm));
  draft.with("land_x_mm", left.x_mm);
  draft.with(goal.wanted_mm ? "wanted_mm" : "usual_mm", goal.mm());
  const Against against = compared(left, goal);
  if (against == Against::short_of) draft.with("short_mm", goal.mm() - left.mm.value);
  if (against == Against::above) draft.with("spare_mm", left.mm.value - goal.mm());
}

void add_lowering(RemarkDraft& draft, const LandLeft& left, const LandGoal& goal,
                  const Facets& facets) {
  if (compared(left, goal) != Against::short_of) return;
  const Measured lower = edge_to_lower(left.mm, goal.mm(), facets);
  draft.with("lower_mm", lower.value).with("lower_U95_mm", U95(lower));
}

}  // namespace evenbevel
