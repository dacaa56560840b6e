#pragma once

#include <string>

#include "evenbevel/units.hpp"

namespace evenbevel {

/// A measured value as a person reads it: U95 to two significant digits at most (NIST TN 1297,
/// 7.4), never finer than the display unit's last place, and the value to the same place.
struct Printed {
  std::string value;  ///< With its unit.
  std::string U95;    ///< With its unit.
};

enum class Sign { negative_only, always };

Printed printed_length(double mm, double u95_mm, LengthUnit unit, Sign sign = Sign::negative_only);
Printed printed_angle(double angle_deg, double u95_deg);

/// A length that was chosen, not measured: "0.32 mm", without zeros at the end.
std::string trimmed_length(double mm, LengthUnit unit);

/// A place along the blade: whole millimetres or hundredths of an inch.
std::string printed_position(double x_mm, LengthUnit unit);

/// The same without its unit, for "from 12 to 48 mm".
std::string printed_position_number(double x_mm, LengthUnit unit);

}  // namespace evenbevel
