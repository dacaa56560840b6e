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

/// What a face with steel to lose is told where the zone's advice is to leave it. Empty: it is to
/// be ground.
std::optional<RemarkCode> not_to_be_ground(const Zone& zone, const GrindContext& context) {
  switch (zone_remark(zone, context).code) {
    case RemarkCode::lower_before_centring:
    case RemarkCode::past_line_crossed:
      return context.stage == Stage::ground ? RemarkCode::ribbon_lower_first
                                            : RemarkCode::ribbon_leave;
    case RemarkCode::centring_leaves_nothing:
    case RemarkCode::past_line_centred:
      return RemarkCode::ribbon_leave;
    default:
      return std::nullopt;
  }
}

}  // namespace

Remark face_remark(const Zone& zone, Face face, const GrindContext& context) {
  if (const auto cut = centring_cut(zone, face, context)) {
    return RemarkDraft(RemarkCode::ribbon_off)
        .with("by_mm", cut->value)
        .with("U95_mm", U95(*cut))
        .done();
  }
  const Standing what = face_standing(zone, face, context);
  if (what == Standing::outside) {
    if (const auto left = not_to_be_ground(zone, context)) return RemarkDraft(*left).done();
  }
  RemarkDraft draft(ribbon_code(what, context.stage == Stage::scribed));
  if (what != Standing::on_line) add_few(draft, amount_of(zone, face));
  return draft.done();
}

}  // namespace evenbevel
