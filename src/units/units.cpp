#include "evenbevel/units.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "units/fixed.hpp"

namespace evenbevel {
namespace {

constexpr std::string_view kSpace = " \t";

std::string_view trimmed(std::string_view text) {
  const std::size_t first = text.find_first_not_of(kSpace);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(kSpace) - first + 1);
}

std::string lower_case(std::string_view text) {
  std::string lowered(text);
  std::transform(lowered.begin(), lowered.end(), lowered.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  return lowered;
}

/// Millimetres in one unit of that name; empty when there is no such unit.
std::optional<double> unit_mm(std::string_view unit, LengthUnit bare) {
  static constexpr std::array<std::pair<std::string_view, double>, 10> kUnits{{
      {"mm", 1.0},
      {"cm", 10.0},
      {"um", 0.001},
      {"\u00b5m", 0.001},
      {"in", kMmPerInch},
      {"inch", kMmPerInch},
      {"\"", kMmPerInch},
      {"\u2033", kMmPerInch},  // double prime
      {"\u201d", kMmPerInch},  // what phones make of the inch mark
      {"thou", kMmPerThou},
  }};
  if (unit.empty() && bare == LengthUnit::mm) return 1.0;
  if (unit.empty()) return bare == LengthUnit::inch ? kMmPerInch : kMmPerThou;
  const std::string wanted = lower_case(unit);
  const auto* found = std::find_if(kUnits.begin(), kUnits.end(),
                                   [&wanted](const auto& entry) { return entry.first == wanted; });
  if (found == kUnits.end()) return std::nullopt;
  return found->second;
}

bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// "3,2mm" is 3.2 mm: a lone comma between digits, in a text without a point, is the decimal point.
std::string with_decimal_point(std::string_view text) {
  std::string all(text);
  const std::size_t comma = all.find(',');
  const bool between = comma != std::string::npos && comma > 0 && comma + 1 < all.size() &&
                       is_digit(all[comma - 1]) && is_digit(all[comma + 1]);
  const bool alone = between && all.find(',', comma + 1) == std::string::npos &&
                     all.find('.') == std::string::npos;
  if (alone) all[comma] = '.';
  return all;
}

/// Takes a number off the front of `text`. "inf" and "nan" are not numbers here.
std::optional<double> take_number(std::string_view& text) {
  const bool starts_well = !text.empty() && (text[0] == '.' || (text[0] >= '0' && text[0] <= '9'));
  double number = 0.0;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (!starts_well || fault != std::errc()) return std::nullopt;
  text.remove_prefix(static_cast<std::size_t>(end - text.data()));
  return number;
}

/// Takes "/8" off the front of `text`; 1 when there is none, empty when it is broken.
std::optional<double> take_divisor(std::string_view& text) {
  if (text.empty() || text[0] != '/') return 1.0;
  text.remove_prefix(1);
  const std::optional<double> divisor = take_number(text);
  if (!divisor || *divisor == 0.0) return std::nullopt;
  return divisor;
}

/// Takes "3.2", "1/8", "1 1/8" or "1-1/8" off the front of `text`.
std::optional<double> take_amount(std::string_view& text) {
  const std::optional<double> number = take_number(text);
  if (!number) return std::nullopt;
  std::string_view rest = trimmed(text.starts_with('-') ? text.substr(1) : text);
  const std::optional<double> numerator = rest == text ? std::nullopt : take_number(rest);
  if (numerator) {  // a whole number, a space, a fraction
    if (rest.empty() || rest[0] != '/') return std::nullopt;
    const std::optional<double> divisor = take_divisor(rest);
    if (!divisor) return std::nullopt;
    text = rest;
    return *number + *numerator / *divisor;
  }
  const std::optional<double> divisor = take_divisor(text);
  if (!divisor) return std::nullopt;
  return *number / *divisor;
}

/// The sign off the front of `text`: -1 or 1.
double take_sign(std::string_view& text) {
  const bool negative = text.starts_with('-');
  if (negative || text.starts_with('+')) text.remove_prefix(1);
  return negative ? -1.0 : 1.0;
}

/// To two decimals more than the mm are said with, four at most.
std::string in_inches(double mm, int decimals_mm) {
  return fixed(mm / kMmPerInch, std::min(decimals_mm + 2, 4));
}

}  // namespace

std::string fixed(double value, int decimals) { return fmt::format("{:.{}f}", value, decimals); }

std::optional<double> parse_length_mm(std::string_view given, LengthUnit bare) {
  const std::string pointed = with_decimal_point(given);
  std::string_view text = trimmed(pointed);
  const double sign = take_sign(text);
  const std::optional<double> amount = take_amount(text);
  if (!amount) return std::nullopt;
  const std::optional<double> unit = unit_mm(trimmed(text), bare);
  if (!unit) return std::nullopt;
  const double mm = sign * *amount * *unit;
  if (!std::isfinite(mm)) return std::nullopt;
  return mm;
}

std::optional<double> parse_angle_rad(std::string_view given) {
  const std::string pointed = with_decimal_point(given);
  std::string_view text = trimmed(pointed);
  const double sign = take_sign(text);
  const std::optional<double> amount = take_amount(text);
  if (!amount) return std::nullopt;
  const std::string unit = lower_case(trimmed(text));
  if (!unit.empty() && unit != "deg" && unit != "degrees" && unit != "\u00b0") return std::nullopt;
  const double rad = sign * radians(*amount);
  if (!std::isfinite(rad)) return std::nullopt;
  return rad;
}

std::string format_length(double mm, LengthUnit unit) {
  // 3/32 in is 0.09375 in: printed 0.0938, as the tables do, though 2.38125 / 25.4 may fall short.
  constexpr double kNudge = 1.0 + 1e-13;
  std::string text = fixed(mm, 3) + " mm";
  if (unit == LengthUnit::inch) text = fixed(kNudge * mm / kMmPerInch, 4) + " in";
  if (unit == LengthUnit::thou) text = fixed(kNudge * mm / kMmPerThou, 1) + " thou";
  const bool rounds_to_zero = text.find_first_of("123456789n") >= text.find(' ');
  return rounds_to_zero && text.starts_with('-') ? text.substr(1) : text;
}

InUnits& InUnits::operator+=(const InUnits& other) {
  if (!thou.empty() || !other.thou.empty()) {
    thou = said(LengthUnit::thou) + other.said(LengthUnit::thou);
  }
  mm += other.mm;
  in += other.in;
  return *this;
}

InUnits operator+(InUnits first, const InUnits& second) { return std::move(first += second); }

std::vector<InUnits> paired(const std::vector<std::string>& mm,
                            const std::vector<std::string>& in) {
  std::vector<InUnits> all;
  all.reserve(std::min(mm.size(), in.size()));
  for (std::size_t i = 0; i < std::min(mm.size(), in.size()); ++i) all.push_back({mm[i], in[i]});
  return all;
}

InUnits length_words(double mm, int decimals) {
  return {fixed(mm, decimals) + " mm", in_inches(mm, decimals) + " in"};
}

InUnits length_words(double from_mm, const char* between, double to_mm, int decimals) {
  return InUnits(fixed(from_mm, decimals), in_inches(from_mm, decimals)) + between +
         length_words(to_mm, decimals);
}

InUnits density_words(double px_per_mm, int decimals) {
  return {fixed(px_per_mm, decimals) + " px a mm",
          fixed(px_per_mm * kMmPerInch, std::max(decimals - 1, 0)) + " px an inch"};
}

std::string format_signed_length(double mm, LengthUnit unit) {
  const std::string text = format_length(mm, unit);
  return text.starts_with('-') ? text : '+' + text;
}

}  // namespace evenbevel
