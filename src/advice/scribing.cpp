#include <algorithm>
#include <cmath>

#include "advice/amount.hpp"
#include "advice/grinding.hpp"

namespace evenbevel {
namespace {

/// Of the mean, and of the worst place where that is off by more than the interval.
void add_off_centre(RemarkDraft& draft, const Zone& zone) {
  const Measured& mean = zone.mean.offset_mm;
  if (standing(mean) == Standing::on_line) return;
  const auto by_size = [](const Need& a, const Need& b) {
    return std::abs(a.offset_mm.value) < std::abs(b.offset_mm.value);
  };
  const Need& most = *std::ranges::max_element(zone.needs, by_size);
  const double most_mm = std::abs(most.offset_mm.value);
  draft.with("offset_mm", std::abs(mean.value)).with("offset_U95_mm", U95(mean));
  if (most_mm - std::abs(mean.value) <= U95(mean)) return;
  draft.with("worst_mm", most_mm).with("worst_x_mm", most.x_mm);
}

/// How far past a line, or short of it, the edge is to be ground.
void add_way(RemarkDraft& draft, const Zone& zone, Face face) {
  const Standing line = face == Face::left ? zone.left : zone.right;
  if (line == Standing::on_line) return;
  const std::string side(name(face));
  const Measured& need = need_of(zone.mean, face);
  draft.with(side + (line == Standing::outside ? "_past_mm" : "_short_mm"), std::abs(need.value));
  draft.with(side + "_U95_mm", U95(need));
}

/// Ground to the lines, the land is as wide as their gap.
std::optional<LandLeft> land_between(const Zone& zone) {
  std::optional<LandLeft> land = land_left(zone, [](const Need&) { return Measured{}; });
  if (land) land->x_mm.reset();
  return land;
}

void add_land_width(RemarkDraft& draft, const LandLeft& land) {
  draft.with("land_mm", land.mm.value).with("land_U95_mm", U95(land.mm));
}

Remark scribe_again(const Zone& zone, const GrindContext& context) {
  RemarkDraft draft(RemarkCode::scribe_again);
  add_where(draft, zone, context);
  draft.with("face", name(zone.mean.offset_mm.value > 0.0 ? Face::left : Face::right));
  add_off_centre(draft, zone);
  add_way(draft, zone, Face::left);
  add_way(draft, zone, Face::right);
  draft.with("wanted_mm", context.goal.wanted_mm);
  const std::optional<LandLeft> land = land_between(zone);
  if (land && !context.goal.wanted_mm) add_land_width(draft, *land);  // the pair moves as one
  return draft.done();
}

}  // namespace

Remark scribe_remark(const Zone& zone, const GrindContext& context) {
  const bool on_lines = zone.left == Standing::on_line && zone.right == Standing::on_line;
  const bool centred = zone.mean.within_tolerance && (!context.goal.wanted_mm || on_lines);
  if (!centred && !on_lines) return scribe_again(zone, context);
  RemarkDraft draft(centred ? RemarkCode::lines_centred : RemarkCode::lines_right);
  add_where(draft, zone, context);
  if (centred) draft.with("tolerance_mm", context.tolerance_mm);
  draft.with("U95_mm", U95(zone.mean.offset_mm));
  const std::optional<LandLeft> land = land_between(zone);
  if (land && context.goal.wanted_mm) add_land(draft, *land, context.goal);
  if (land && !context.goal.wanted_mm) add_land_width(draft, *land);
  return draft.done();
}

}  // namespace evenbevel
