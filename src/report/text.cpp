#include <algorithm>
#include <cmath>
#include <sstream>

#include "evenbevel/advice.hpp"
#include "evenbevel/report.hpp"
#include "report/quantities.hpp"
#include "report/words.hpp"

namespace evenbevel {
namespace {

constexpr std::size_t kColumns = 100;

std::string padded(std::string text, std::size_t width) {
  if (text.size() < width) text.resize(width, ' ');
  return text;
}

std::string row(const std::string& label, const Printed& number, const std::string& note) {
  constexpr std::size_t kLabel = 30;
  constexpr std::size_t kNumber = 12;
  const bool sign = number.value.starts_with('+') || number.value.starts_with('-');
  std::string line = padded(label, kLabel) + padded((sign ? "" : " ") + number.value, kNumber) +
                     "U95 " + padded(number.U95, kNumber) + note;
  line.erase(line.find_last_not_of(' ') + 1);
  return line + "\n";
}

/// Breaks at spaces; later lines are indented under the first.
std::string wrapped(const std::string& label, const std::string& text) {
  std::istringstream words(label + text);
  std::string line;
  std::string all;
  const std::string indent(label.size(), ' ');
  for (std::string word; words >> word;) {
    if (!line.empty() && line.size() + 1 + word.size() > kColumns) {
      all += line + "\n";
      line = indent + word;
    } else {
      line += line.empty() ? word : " " + word;
    }
  }
  return all + line + "\n";
}

std::string note_for(const EdgeQuantity& quantity, const Measured& value, const EdgeResult& result,
                     LengthUnit unit) {
  if (quantity.member == &EdgeResult::centreline_offset_mm) return toward(value);
  if (quantity.member == &EdgeResult::centreline_offset_worst_mm) {
    return "at x = " + printed_position(result.worst_x_mm, unit);
  }
  if (quantity.member == &EdgeResult::plunge_mismatch_mm && std::abs(value.value) > U95(value)) {
    return value.value > 0.0 ? "left one nearer the tip" : "right one nearer the tip";
  }
  return "";
}

/// What fits a glance; the rest is in the files.
bool on_terminal(const EdgeQuantity& quantity) {
  static const std::vector<std::string_view> shown = {
      "centreline_offset", "centreline_offset_worst", "line_gap",
      "land_width",        "facet_width_difference",  "plunge_mismatch"};
  return std::find(shown.begin(), shown.end(), quantity.name) != shown.end();
}

std::string warnings_text(const EdgeResult& result, LengthUnit unit) {
  constexpr std::size_t kMost = 2;  // The gravest come first; the rest is in the files.
  std::string all;
  const std::size_t shown = std::min(kMost, result.warnings.size());
  for (std::size_t i = 0; i < shown; ++i) {
    std::string text = sentence_in(unit, result.warnings[i]);
    const std::size_t more = result.warnings.size() - shown;
    if (i + 1 == shown && more > 0)
      text += " (and " + std::to_string(more) + " more in the report)";
    all += wrapped("warning: ", text);
  }
  return all;
}

}  // namespace

std::string edge_text(const EdgeResult& result, const ReportSettings& settings) {
  const LengthUnit unit = settings.unit;
  std::string text =
      wrapped("", view_words(result) + ", " + stage_words(result.stage) + "; " + left_and_right());
  for (const EdgeQuantity& quantity : edge_quantities()) {
    const std::optional<Measured> value = measured(result.*quantity.member);
    if (!value || !on_terminal(quantity)) continue;
    text += row(quantity.label, printed(quantity, *value, unit),
                note_for(quantity, *value, result, unit));
  }
  text += wrapped("verdict: ", verdict_sentence(result, settings));
  text += wrapped(
      "do: ", edge_advice(result, settings.wanted_land_mm, settings.tolerance_mm, unit).front());
  if (!result.advice.empty()) text += wrapped("photo: ", sentence_in(unit, result.advice.front()));
  return text + warnings_text(result, unit);
}

}  // namespace evenbevel
