#include "advice/amount.hpp"
#include "advice/grinding.hpp"

namespace evenbevel {
namespace {

RemarkCode ribbon_code(Standing what, bool scribed) {
  if (what == Standing::on_line) {
    return scribed ? RemarkCode::ribbon_to_line : RemarkCode::ribbon_leave;
  }
  if (what == Standing::past) {
    return scribed ? RemarkCode::ribbon_short_of_line : RemarkCode::ribbon_past;
  }
  return scribed ? RemarkCode::ribbon_past_line : RemarkCode::ribbon_off;
}

/// Whether the zone's advice lets a face be ground.
bool may_be_ground(const Zone& zone, const GrindContext& context) {
  const RemarkCode advice = zone_remark(zone, context).code;
  return advice != RemarkCode::lower_before_centring &&
         advice != RemarkCode::centring_leaves_nothing;
}

}  // namespace

Remark face_remark(const Zone& zone, Face face, const GrindContext& context) {
  const Standing what = face_standing(zone, face, context);
  if (what == Standing::outside && !may_be_ground(zone, context)) {
    const bool ground = context.stage == Stage::ground;
    return RemarkDraft(ground ? RemarkCode::ribbon_lower_first : RemarkCode::ribbon_leave).done();
  }
  RemarkDraft draft(ribbon_code(what, context.stage == Stage::scribed));
  if (what != Standing::on_line) add_few(draft, amount_of(zone, face));
  return draft.done();
}

}  // namespace evenbevel
