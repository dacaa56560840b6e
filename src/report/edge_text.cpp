#include <algorithm>
#include <array>
#include <vector>

#include "evenbevel/advice.hpp"
#include "evenbevel/report.hpp"
#include "report/edge_check.hpp"
#include "report/edge_quantities.hpp"
#include "report/edge_words.hpp"
#include "report/text_pieces.hpp"

namespace evenbevel {
namespace {

/// What fits a glance; the rest is in the files.
bool on_terminal(const Quantity& quantity) {
  static constexpr std::array kShown = {
      "centreline_offset", "centreline_offset_worst", "setup_offset",     "line_gap",
      "land_width",        "facet_width_difference",  "facet_angle_left", "facet_angle_right",
      "plunge_mismatch"};
  return std::any_of(kShown.begin(), kShown.end(),
                     [&](const char* name) { return quantity.is(name); });
}

}  // namespace

std::string edge_text(const EdgeResult& result, const ReportSettings& settings) {
  const LengthUnit unit = settings.unit;
  std::string text = text_wrapped(
      "", view_words(result) + ", " + stage_words(result.stage) + "; " + left_and_right());
  for (const Quantity& quantity : measured_of(edge_quantities(), result)) {
    if (!on_terminal(quantity)) continue;
    text += text_row(quantity, edge_note(quantity, result, unit), unit);
  }
  if (!result.monte_carlo.empty()) text += text_wrapped("check: ", check_sentence(result));
  text += text_wrapped("verdict: ", verdict_sentence(result, settings));
  text += text_wrapped(
      "do: ", edge_advice(result, settings.wanted_land_mm, settings.tolerance_mm, unit).front());
  const std::vector<std::string> photo = photo_advice(result, settings);
  if (!photo.empty()) text += text_wrapped("photo: ", sentence_in(unit, photo.front()));
  return text + text_warnings(result.warnings, unit);
}

}  // namespace evenbevel
