#include <vector>

#include "evenbevel/advice.hpp"
#include "evenbevel/report.hpp"
#include "report/edge_check.hpp"
#include "report/edge_quantities.hpp"
#include "report/edge_words.hpp"
#include "report/text_pieces.hpp"

namespace evenbevel {

std::string edge_text(const EdgeResult& result, const ReportSettings& settings) {
  const LengthUnit unit = settings.unit;
  std::string text = text_wrapped(
      "", view_words(result) + ", " + stage_words(result.stage) + "; " + left_and_right());
  for (const Quantity& quantity : measured_of(edge_quantities(), result)) {
    if (!quantity.what.at_a_glance) continue;
    text += text_row(quantity, edge_note(quantity, result, unit), unit);
  }
  if (!result.monte_carlo.empty()) text += text_wrapped("check: ", check_sentence(result));
  text += text_wrapped("verdict: ", verdict_sentence(result, settings));
  text += text_wrapped(
      "do: ", edge_advice(result, settings.wanted_land_mm, settings.tolerance_mm, unit).front());
  const std::vector<Remark> photo = photo_advice(result, settings);
  if (!photo.empty()) text += text_wrapped("photo: ", sentence(photo.front(), unit));
  return text + text_warnings(result.warnings, unit);
}

}  // namespace evenbevel
