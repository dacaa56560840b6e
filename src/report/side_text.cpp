#include "evenbevel/advice.hpp"
#include "report/side_quantities.hpp"
#include "report/side_words.hpp"
#include "report/text_pieces.hpp"

namespace evenbevel {
namespace {

std::string place_rows(const BevelAtPlace& at, bool both, LengthUnit unit) {
  const auto row = [&](const char* what, const std::optional<Measured>& value, QuantityKind kind) {
    const std::string label = place_label(what, at, unit);
    const std::optional<Measured> seen = measured(value);
    if (!seen) return text_row(label, {"not seen", "-"}, place_note(at, unit));
    return text_row(label, printed(kind, *seen, unit), place_note(at, unit));
  };
  std::string text;
  if (both || at.left_mm) text += row("bevel, left", at.left_mm, QuantityKind::length);
  if (both || at.right_mm) text += row("bevel, right", at.right_mm, QuantityKind::length);
  if (both) text += row("difference", at.difference_mm, QuantityKind::signed_length);
  return text;
}

}  // namespace

std::string side_text(const SideResult& result, const ReportSettings& settings) {
  const LengthUnit unit = settings.unit;
  std::string text = text_wrapped("", side_view_words(result) + "; " + left_and_right());
  for (const Quantity& quantity : measured_of(side_quantities(), result)) {
    if (!quantity.what.at_a_glance) continue;
    text += text_row(quantity, side_note(quantity, result, unit), unit);
  }
  for (const BevelAtPlace& at : result.bevel_at)
    text += place_rows(at, result.faces.size() > 1, unit);
  text += text_wrapped("verdict: ", side_verdict_sentence(result, settings));
  text += text_wrapped("do: ", side_advice(result, settings.tolerance_mm, unit).front());
  if (!result.advice.empty()) {
    text += text_wrapped("photo: ", sentence(result.advice.front(), unit));
  }
  return text + text_warnings(result.warnings, unit);
}

}  // namespace evenbevel
