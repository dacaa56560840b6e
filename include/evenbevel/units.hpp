#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace evenbevel {

enum class LengthUnit { mm, inch };

inline constexpr double kMmPerInch = 25.4;  ///< Exact (international inch, 1959).
inline constexpr double kPi = 3.14159265358979323846;

constexpr double radians(double degrees) { return degrees * kPi / 180.0; }
constexpr double degrees(double radians) { return radians * 180.0 / kPi; }

/// Reads "0.125in", "3.2mm", "10thou", "1/8in", "1 1/2in", "1-1/2in" or a bare number in `bare`.
/// Empty when it is not a finite length; the sign is the caller's business.
std::optional<double> parse_length_mm(std::string_view text, LengthUnit bare);

/// Reads "17", "17deg", "17.5°" or "22 1/2 deg": degrees. Empty when it is not a finite angle.
std::optional<double> parse_angle_rad(std::string_view text);

/// "0.0012 in" (4 decimals) or "0.031 mm" (3 decimals).
std::string format_length(double mm, LengthUnit unit);

/// As format_length, always with a sign: "+0.031 mm".
std::string format_signed_length(double mm, LengthUnit unit);

/// A measurement's sentences speak mm: "stands 12 mm aside", "2-10 mm", "0.2 to 0.35 mm". In
/// inches with two decimals more than the mm had, four at most, so that no precision is made up.
/// Names stay: "the 200 mm bar", "35 mm equivalent".
std::string sentence_in(LengthUnit unit, const std::string& sentence);

}  // namespace evenbevel
