#include "report/text_pieces.hpp"

#include <algorithm>
#include <array>
#include <sstream>
#include <string_view>
#include <vector>

namespace evenbevel {
namespace {

/// A number and its unit, and both sides of an equals sign, stay in one line.
bool stay_together(const std::string& before, const std::string& word) {
  constexpr std::array<std::string_view, 5> kUnits = {"mm", "in", "thou", "deg", "px"};
  const std::string_view bare =
      std::string_view(word).substr(0, word.find_last_not_of(".,;:)") + 1);
  const bool unit = std::ranges::find(kUnits, bare) != kUnits.end();
  return word == "=" || before == "=" || (unit && before.back() >= '0' && before.back() <= '9');
}

/// The text's words, those together that no line parts.
std::vector<std::string> unbroken(const std::string& text) {
  std::istringstream words(text);
  std::vector<std::string> all;
  std::string before;
  for (std::string word; words >> word; before = word) {
    if (!all.empty() && stay_together(before, word)) {
      all.back() += " " + word;
    } else {
      all.push_back(word);
    }
  }
  return all;
}

}  // namespace

std::string padded(const std::string& text, std::size_t width, bool right) {
  if (text.size() >= width) return text;
  const std::string space(width - text.size(), ' ');
  return right ? space + text : text + space;
}

std::string text_row(const std::string& label, const Printed& number, const std::string& note) {
  constexpr std::size_t kLabel = 30;
  constexpr std::size_t kNumber = 12;
  const bool sign = number.value.starts_with('+') || number.value.starts_with('-');
  std::string line = padded(label, kLabel) + padded((sign ? "" : " ") + number.value, kNumber) +
                     "U95 " + padded(number.U95, kNumber) + note;
  line.erase(line.find_last_not_of(' ') + 1);
  return line + "\n";
}

std::string text_wrapped(const std::string& label, const std::string& text) {
  std::string line;
  std::string all;
  const std::string indent(label.size(), ' ');
  for (const std::string& words : unbroken(label + text)) {
    if (!line.empty() && line.size() + 1 + words.size() > kTextColumns) {
      all += line + "\n";
      line = indent + words;
    } else {
      line += line.empty() ? words : " " + words;
    }
  }
  return all + line + "\n";
}

std::string text_warnings(std::span<const Remark> warnings, LengthUnit unit) {
  constexpr std::size_t kMost = 2;
  std::string all;
  const std::size_t shown = std::min(kMost, warnings.size());
  for (std::size_t i = 0; i < shown; ++i) {
    std::string text = sentence(warnings[i], unit);
    const std::size_t more = warnings.size() - shown;
    if (i + 1 == shown && more > 0)
      text += " (and " + std::to_string(more) + " more in the report)";
    all += text_wrapped("warning: ", text);
  }
  return all;
}

}  // namespace evenbevel
