#include "evenbevel/advice.hpp"
#include "report/choil_quantities.hpp"
#include "report/choil_words.hpp"
#include "report/text_pieces.hpp"

namespace evenbevel {
namespace {

std::string depth_rows(const ChoilResult& result, LengthUnit unit) {
  std::string text;
  for (const ChoilDepth& depth : result.depths) {
    if (!measured(depth.thickness_mm)) continue;
    text += text_row("thickness at " + trimmed_length(depth.depth_mm, unit),
                     printed_length(*depth.thickness_mm, unit), "");
  }
  return text;
}

}  // namespace

std::string choil_text(const ChoilResult& result, const ReportSettings& settings) {
  const LengthUnit unit = settings.unit;
  std::string text = text_wrapped("", std::string("choil view; ") + left_and_right());
  text += depth_rows(result, unit);
  for (const Quantity& quantity : choil_quantities(result)) {
    if (!quantity.what.at_a_glance) continue;
    text += text_row(quantity, choil_note(quantity, result, unit), unit);
  }
  text += text_wrapped("verdict: ", choil_verdict_sentence(result, settings));
  text += text_wrapped("do: ", choil_advice(result, settings.tolerance_mm, unit).front());
  if (!result.advice.empty()) {
    text += text_wrapped("photo: ", sentence(result.advice.front(), unit));
  }
  return text + text_warnings(result.warnings, unit);
}

}  // namespace evenbevel
