#include "report/csv_pieces.hpp"

#include <array>
#include <charconv>
#include <cmath>
#include <string_view>

namespace evenbevel {
namespace {

std::string csv_digits(double value, int decimals) {
  if (!std::isfinite(value)) return "";
  std::array<char, 400> digits{};
  const auto [end, fault] = std::to_chars(digits.data(), digits.data() + digits.size(), value,
                                          std::chars_format::fixed, decimals);
  return fault == std::errc() ? std::string(digits.data(), end) : std::string();
}

}  // namespace

std::string csv_text(std::string text) {
  if (!text.empty() && std::string_view("=+-@\t\r").find(text.front()) != std::string::npos) {
    text.insert(text.begin(), '\'');
  }
  if (text.find_first_of(",;\t\"\r\n") == std::string::npos) return text;
  std::string quoted = "\"";
  for (const char c : text) quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
  return quoted + "\"";
}

CsvRow& CsvRow::text(const std::string& field) {
  if (!first_) line_ += ',';
  first_ = false;
  line_ += field;
  return *this;
}

CsvRow& CsvRow::number(const std::optional<double>& value, int decimals) {
  return text(value ? csv_digits(*value, decimals) : "");
}

CsvRow& CsvRow::px(const std::optional<Eigen::Vector2d>& place) {
  px(place ? std::optional(place->x()) : std::nullopt);
  return px(place ? std::optional(place->y()) : std::nullopt);
}

CsvRow& CsvRow::stated(const StatedQuantity* quantity) {
  constexpr int kDecimals = 5;  // 0.01 um: far below any u, and it does not move in a sum
  if (quantity == nullptr) return text("").text("").text("");
  const Stated& value = quantity->value;
  return number(value.value, kDecimals).number(value.u, kDecimals).number(value.U95, kDecimals);
}

void add_columns(CsvRow& heading, const std::string& quantity, QuantityKind kind) {
  const std::string unit = kind == QuantityKind::angle             ? "_deg"
                           : kind == QuantityKind::per_area        ? "_per_cm2"
                           : kind == QuantityKind::length_per_area ? "_mm_per_cm2"
                                                                   : "_mm";
  heading.text(quantity + unit).text(quantity + "_u" + unit).text(quantity + "_U95" + unit);
}

}  // namespace evenbevel
