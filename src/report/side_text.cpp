#include <algorithm>
#include <array>

#include "evenbevel/advice.hpp"
#include "report/side_quantities.hpp"
#include "report/side_words.hpp"
#include "report/text_pieces.hpp"

namespace evenbevel {
namespace {

/// What fits a glance; the rest is in the files.
bool on_terminal(const Quantity& quantity) {
  static constexpr std::array kShown = {"bevel_height_left",       "bevel_height_right",
                                        "bevel_height_difference", "bevel_height_difference_worst",
                                        "plunge_mismatch",         "plunge_angle_left",
                                        "plunge_angle_right",      "included_angle"};
  return std::any_of(kShown.begin(), kShown.end(),
                     [&](const char* name) { return quantity.is(name); });
}

}  // namespace

std::string side_text(const SideResult& result, const ReportSettings& settings) {
  const LengthUnit unit = settings.unit;
  std::string text = text_wrapped("", side_view_words(result) + "; " + left_and_right());
  for (const Quantity& quantity : measured_of(side_quantities(), result)) {
    if (on_terminal(quantity)) text += text_row(quantity, side_note(quantity, result, unit), unit);
  }
  text += text_wrapped("verdict: ", side_verdict_sentence(result, settings));
  text += text_wrapped("do: ", side_advice(result, settings.tolerance_mm, unit).front());
  if (!result.advice.empty()) {
    text += text_wrapped("photo: ", sentence_in(unit, result.advice.front()));
  }
  return text + text_warnings(result.warnings, unit);
}

}  // namespace evenbevel
