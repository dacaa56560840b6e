#include "advice/grinding.hpp"

#include <algorithm>
#include <cmath>

#include "advice/aim.hpp"
#include "advice/amount.hpp"

namespace evenbevel {
namespace {

const char* surface(Stage stage) { return stage == Stage::bevelled ? "bevel" : "facet"; }

Face face_toward(const Measured& offset_mm) {
  return offset_mm.value > 0.0 ? Face::left : Face::right;
}

Face other(Face face) { return face == Face::left ? Face::right : Face::left; }

RemarkDraft draft_for(RemarkCode code, const Zone& zone, const GrindContext& context) {
  RemarkDraft draft(code);
  add_where(draft, zone, context);
  return draft;
}

RemarkDraft draft_on(Face face, RemarkCode code, const Zone& zone, const GrindContext& context) {
  RemarkDraft draft = draft_for(code, zone, context);
  draft.with("face", name(face)).with("surface", surface(context.stage));
  return draft;
}

/// Across the land, and into a facet; a bevel's angle does not show from above.
void add_cut(RemarkDraft& draft, const Zone& zone, Face face, const GrindContext& context,
             const std::string& prefix = "") {
  const Amount amount = amount_of(zone, face);
  add_amount(draft, amount, prefix);
  if (context.stage == Stage::bevelled) return;
  add_into_facet(draft, amount, context.facets.on(face), prefix);
}

void add_land_and_lowering(RemarkDraft& draft, const LandLeft& left, const GrindContext& context) {
  add_land(draft, left, context.goal);
  if (context.stage == Stage::ground) add_lowering(draft, left, context.goal, context.facets);
}

/// Both borders on their lines, or centred as far as the photo tells.
Remark nothing_to_grind(const Zone& zone, const GrindContext& context) {
  const auto leave = [&](RemarkCode code) {
    RemarkDraft draft = draft_for(code, zone, context);
    draft.with("U95_mm", U95(zone.mean.offset_mm));
    return draft;
  };
  if (context.goal.wanted_mm) return leave(RemarkCode::leave_at_lines).done();
  if (!zone.mean.within_tolerance) return leave(RemarkCode::leave_unresolved).done();
  return leave(RemarkCode::leave_centred).with("tolerance_mm", context.tolerance_mm).done();
}

Remark no_land_for_the_cut(const Zone& zone, Face face, const LandLeft& left,
                           const GrindContext& context) {
  const bool ground = context.stage == Stage::ground;
  RemarkDraft draft = draft_on(
      face, ground ? RemarkCode::lower_before_centring : RemarkCode::centring_leaves_nothing, zone,
      context);
  draft.with("land_mm", left.mm.value).with("land_U95_mm", U95(left.mm));
  if (!ground) {
    add_amount(draft, amount_of(zone, face));
    return draft.done();
  }
  const Measured lower = edge_to_lower(left.mm, context.goal.mm(), context.facets);
  draft.with("lower_mm", lower.value).with("lower_U95_mm", U95(lower));
  draft.with(context.goal.wanted_mm ? "wanted_mm" : "usual_mm", context.goal.mm());
  add_cut(draft, zone, face, context);
  return draft.done();
}

std::optional<LandLeft> left_after_cut(const Zone& zone, Face face) {
  const auto off = [face](const Need& need) {
    Measured mm = need_of(need, face);
    mm.value = std::max(0.0, mm.value);
    return mm;
  };
  return land_left(zone, off, amount_of(zone, face).most_mm.has_value());
}

/// The zone's only cut.
Remark one_cut(const Zone& zone, Face face, const GrindContext& context) {
  const std::optional<LandLeft> left = left_after_cut(zone, face);
  if (left && !left->surely_some()) return no_land_for_the_cut(zone, face, *left, context);
  RemarkDraft draft = draft_on(
      face, context.goal.wanted_mm ? RemarkCode::take_off_one_to_line : RemarkCode::take_off_one,
      zone, context);
  add_cut(draft, zone, face, context);
  if (left) add_land_and_lowering(draft, *left, context);
  return draft.done();
}

Remark two_cuts(const Zone& zone, const GrindContext& context) {
  RemarkDraft draft = draft_for(RemarkCode::take_off_both, zone, context);
  draft.with("surface", surface(context.stage)).with("wanted_mm", context.goal.wanted_mm);
  add_cut(draft, zone, Face::left, context, "left_");
  add_cut(draft, zone, Face::right, context, "right_");
  return draft.done();
}

std::vector<LandBorders> borders_of(const Zone& zone) {
  std::vector<LandBorders> borders;
  for (const Need& need : zone.needs) {
    if (!need.width_mm) continue;
    const double half_mm = 0.5 * need.width_mm->value;
    borders.push_back(
        {.left_mm = need.offset_mm.value + half_mm, .right_mm = need.offset_mm.value - half_mm});
  }
  return borders;
}

/// The most that the aim takes off one face anywhere in the zone.
double most_taken_off(const std::vector<LandBorders>& borders, const LandAim& aim, Face face) {
  double most_mm = 0.0;
  for (const LandBorders& here : borders) {
    const double off_mm =
        face == Face::left ? here.left_mm - aim.left_mm : aim.right_mm - here.right_mm;
    most_mm = std::max(most_mm, off_mm);
  }
  return most_mm;
}

void add_off(RemarkDraft& draft, const Measured& off_mm, Face face, const GrindContext& context) {
  draft.with("off_mm", off_mm.value).with("off_U95_mm", U95(off_mm));
  if (context.stage == Stage::bevelled) return;
  draft.with("into_off_mm", into_facet(off_mm.value, context.facets.on(face)));
}

Remark crossed_its_line(const Zone& zone, Face past, const LandLeft& widest,
                        const GrindContext& context) {
  RemarkDraft draft = draft_on(past, RemarkCode::past_line_crossed, zone, context);
  add_amount(draft, amount_of(zone, past));
  draft.with("wanted_mm", context.goal.mm());
  if (context.stage == Stage::ground) {
    const Measured lower = edge_to_lower(widest.mm, context.goal.mm(), context.facets);
    draft.with("lower_mm", lower.value).with("lower_U95_mm", U95(lower));
  }
  return draft.done();
}

/// The best centre that the steel allows where one face is past its line.
struct BestCentre {
  LandLeft widest;                 ///< The widest land that can be centred.
  std::optional<Measured> off_mm;  ///< What the other face loses for it, at most; empty: no land is
                                   ///< left for certain.
};

BestCentre best_centre(const Zone& zone, Face past, const GrindContext& context) {
  const std::vector<LandBorders> borders = borders_of(zone);
  const Measured& offset = zone.mean.offset_mm;
  BestCentre best{.widest = {.mm = {.value = widest_centred_mm(borders),
                                    .u = zone.mean.width_mm->u + 2.0 * offset.u,
                                    .dof = std::min(zone.mean.width_mm->dof, offset.dof)},
                             .x_mm = {}},
                  .off_mm = {}};
  const std::optional<LandAim> aim = centred_land(borders, context.goal.mm());
  if (!aim || !best.widest.surely_some()) return best;
  best.off_mm = Measured{
      .value = most_taken_off(borders, *aim, other(past)), .u = 2.0 * offset.u, .dof = offset.dof};
  return best;
}

Measured twice(const Measured& offset_mm) {
  return {.value = 2.0 * std::abs(offset_mm.value), .u = 2.0 * offset_mm.u, .dof = offset_mm.dof};
}

/// What is left of a land that is centred from one side.
LandLeft left_centred(const Zone& zone) {
  return *land_left(zone, [](const Need& need) { return twice(need.offset_mm); });
}

LandLeft left_as_it_is(const Zone& zone) {
  return *land_left(zone, [](const Need&) { return Measured{}; });
}

/// One face is past its line: a narrower land can still be centred, or the edge comes down.
Remark past_its_line(const Zone& zone, Face past, const GrindContext& context) {
  if (standing(zone.mean.offset_mm) == Standing::on_line) {
    RemarkDraft draft = draft_on(past, RemarkCode::past_line_centred, zone, context);
    add_amount(draft, amount_of(zone, past));
    add_land_and_lowering(draft, left_as_it_is(zone), context);
    return draft.done();
  }
  const BestCentre best = best_centre(zone, past, context);
  if (!best.off_mm) return crossed_its_line(zone, past, best.widest, context);
  RemarkDraft draft = draft_on(past, RemarkCode::past_line_best_centre, zone, context);
  add_amount(draft, amount_of(zone, past));
  add_off(draft, *best.off_mm, other(past), context);
  add_land_and_lowering(draft, best.widest, context);
  return draft.done();
}

Remark both_past(const Zone& zone, const GrindContext& context) {
  const Measured& offset = zone.mean.offset_mm;
  if (standing(offset) == Standing::on_line) {
    RemarkDraft draft = draft_for(RemarkCode::land_short_centred, zone, context);
    add_land_and_lowering(draft, left_as_it_is(zone), context);
    return draft.done();
  }
  const LandLeft left = left_centred(zone);
  const Face face = face_toward(offset);
  if (!left.surely_some()) return crossed_its_line(zone, other(face), left, context);
  RemarkDraft draft = draft_on(face, RemarkCode::land_short_off_centre, zone, context);
  draft.with("width_mm", zone.mean.width_mm->value);
  draft.with("width_U95_mm", U95(*zone.mean.width_mm));
  add_off(draft, twice(offset), face, context);
  add_land_and_lowering(draft, left, context);
  return draft.done();
}

}  // namespace

GrindPlan grind_plan(const EdgeResult& result, std::optional<double> wanted_mm,
                     std::optional<double> tolerance_mm) {
  GrindPlan plan{.zones = zones(result, wanted_mm, tolerance_mm), .context = {}};
  const bool widths = std::ranges::any_of(
      plan.zones, [](const Zone& zone) { return zone.mean.width_mm.has_value(); });
  plan.context = {.stage = result.stage,
                  .goal = {.wanted_mm = widths ? wanted_mm : std::nullopt},
                  .tolerance_mm = tolerance_mm,
                  .facets = facets_of(result),
                  .one_zone = plan.zones.size() == 1};
  return plan;
}

void add_where(RemarkDraft& draft, const Zone& zone, const GrindContext& context) {
  if (context.one_zone) return;
  draft.with("from_x_mm", zone.from_mm).with("to_x_mm", zone.to_mm);
}

Remark zone_remark(const Zone& zone, const GrindContext& context) {
  if (context.stage == Stage::scribed) return scribe_remark(zone, context);
  if (zone.mean.within_tolerance && !context.goal.wanted_mm) return nothing_to_grind(zone, context);
  const bool left = zone.left == Standing::outside;
  const bool right = zone.right == Standing::outside;
  if (zone.left == Standing::past && zone.right == Standing::past) return both_past(zone, context);
  if (zone.left == Standing::past) return past_its_line(zone, Face::left, context);
  if (zone.right == Standing::past) return past_its_line(zone, Face::right, context);
  if (!left && !right) return nothing_to_grind(zone, context);
  if (left && right) return two_cuts(zone, context);
  return one_cut(zone, left ? Face::left : Face::right, context);
}

std::optional<Measured> centring_cut(const Zone& zone, Face face, const GrindContext& context) {
  const Measured& offset = zone.mean.offset_mm;
  const bool left = zone.left == Standing::past, right = zone.right == Standing::past;
  if (context.stage == Stage::scribed || !(left || right)) return std::nullopt;
  if (standing(offset) == Standing::on_line) return std::nullopt;
  if (left && right) {
    const bool cuts = face == face_toward(offset) && left_centred(zone).surely_some();
    return cuts ? std::optional(twice(offset)) : std::nullopt;
  }
  const Face past = left ? Face::left : Face::right;
  return face == past ? std::nullopt : best_centre(zone, past, context).off_mm;
}

Standing face_standing(const Zone& zone, Face face, const GrindContext& context) {
  if (centring_cut(zone, face, context)) return Standing::outside;
  if (zone.mean.within_tolerance && !context.goal.wanted_mm) return Standing::on_line;
  return face == Face::left ? zone.left : zone.right;
}

}  // namespace evenbevel
