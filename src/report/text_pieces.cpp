#include "report/text_pieces.hpp"

#include <algorithm>
#include <sstream>

namespace evenbevel {
namespace {

constexpr std::size_t kColumns = 100;

std::string padded(std::string text, std::size_t width) {
  if (text.size() < width) text.resize(width, ' ');
  return text;
}

}  // namespace

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
