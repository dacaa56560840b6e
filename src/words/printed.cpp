#include "evenbevel/printed.hpp"

#include <algorithm>
#include <cmath>

#include "units/fixed.hpp"
#include "words/fixed.hpp"

namespace evenbevel {
namespace words {

std::string fixed(double amount, int decimals) {
  std::string text = evenbevel::fixed(amount, decimals);
  const bool zero = text.find_first_of("123456789ni") == std::string::npos;
  if (zero && text.starts_with('-')) text.erase(0, 1);
  return text;
}

}  // namespace words

namespace {

/// Decimals that leave two significant digits of `amount`, between none and `most`.
int decimals_of(double amount, int most) {
  if (!(amount > 0.0) || !std::isfinite(amount)) return most;
  return std::clamp(1 - static_cast<int>(std::floor(std::log10(amount))), 0, most);
}

Printed printed(double value, double U, int most_decimals, const char* unit, Sign sign) {
  const int decimals = decimals_of(U, most_decimals);
  const double last_place = std::pow(10.0, -decimals);
  std::string number = words::fixed(value, decimals);
  if (sign == Sign::always && !number.starts_with('-')) number.insert(0, 1, '+');
  // An uncertainty is never printed as nothing.
  const double shown = U > 0.0 ? std::max(U, last_place) : U;
  return {number + unit, words::fixed(shown, decimals) + unit};
}

}  // namespace

Printed printed_length(double mm, double u95_mm, LengthUnit unit, Sign sign) {
  if (unit == LengthUnit::mm) return printed(mm, u95_mm, 3, " mm", sign);
  if (unit == LengthUnit::inch) {
    return printed(mm / kMmPerInch, u95_mm / kMmPerInch, 4, " in", sign);
  }
  return printed(mm / kMmPerThou, u95_mm / kMmPerThou, 1, " thou", sign);
}

Printed printed_angle(double angle_deg, double u95_deg) {
  return printed(angle_deg, u95_deg, 2, " deg", Sign::negative_only);
}

std::string trimmed_length(double mm, LengthUnit unit) {
  const std::string text = format_length(mm, unit);
  const std::size_t space = text.find(' ');
  std::string number = text.substr(0, space);
  number.erase(number.find_last_not_of('0') + 1);
  if (number.ends_with('.')) number.pop_back();
  return number + text.substr(space);
}

std::string printed_position_number(double x_mm, LengthUnit unit) {
  return unit == LengthUnit::mm ? words::fixed(x_mm, 0) : words::fixed(x_mm / kMmPerInch, 2);
}

std::string printed_position(double x_mm, LengthUnit unit) {
  return printed_position_number(x_mm, unit) + (unit == LengthUnit::mm ? " mm" : " in");
}

}  // namespace evenbevel
