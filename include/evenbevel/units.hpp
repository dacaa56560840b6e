#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace evenbevel {

/// thou: numbers and amounts in thousandths of an inch; places and distances in inches.
enum class LengthUnit { mm, inch, thou };

inline constexpr double kMmPerInch = 25.4;  ///< Exact (international inch, 1959).
inline constexpr double kMmPerThou = kMmPerInch / 1000.0;
inline constexpr double kPi = 3.14159265358979323846;

constexpr double radians(double degrees) { return degrees * kPi / 180.0; }
constexpr double degrees(double radians) { return radians * 180.0 / kPi; }

/// Reads "0.125in", "3.2mm", "3,2mm", "12thou", "1/8in", "1 1/2in", "1-1/2in" or a bare number in
/// `bare`.
/// Empty when it is not a finite length; the sign is the caller's business.
std::optional<double> parse_length_mm(std::string_view text, LengthUnit bare);

/// Reads "17", "17deg", "17.5°" or "22 1/2 deg": degrees. Empty when it is not a finite angle.
std::optional<double> parse_angle_rad(std::string_view text);

/// "0.0012 in" (4 decimals), "1.2 thou" or "0.031 mm" (3 decimals).
std::string format_length(double mm, LengthUnit unit);

/// As format_length, always with a sign: "+0.031 mm".
std::string format_signed_length(double mm, LengthUnit unit);

/// The same words with their lengths in mm and in inches. Text without lengths is alike in both.
struct InUnits {
  std::string mm, in;
  std::string thou = {};  ///< Empty: as in inches.

  InUnits() = default;
  InUnits(std::string text) : mm(text), in(std::move(text)) {}
  InUnits(const char* text) : InUnits(std::string(text)) {}
  InUnits(std::string words_mm, std::string words_in)
      : mm(std::move(words_mm)), in(std::move(words_in)) {}

  const std::string& said(LengthUnit unit) const {
    if (unit == LengthUnit::mm) return mm;
    return unit == LengthUnit::inch || thou.empty() ? in : thou;
  }
  InUnits& operator+=(const InUnits& other);
  bool operator==(const InUnits&) const = default;
};
InUnits operator+(InUnits first, const InUnits& second);

/// @param words_in  Takes a LengthUnit, gives the words.
template <class Words>
InUnits in_units(Words words_in) {
  InUnits words(words_in(LengthUnit::mm), words_in(LengthUnit::inch));
  words.thou = words_in(LengthUnit::thou);
  return words;
}

/// Sentences that stand in the same order in both units.
std::vector<InUnits> paired(const std::vector<std::string>& mm, const std::vector<std::string>& in);

/// A length in a sentence: "12 mm", "0.47 in". In inches with two decimals more than in mm, four at
/// most, so that no precision is made up.
InUnits length_words(double mm, int decimals);

/// "2-10 mm", "0.08-0.39 in". @param between  "-", " to ".
InUnits length_words(double from_mm, const char* between, double to_mm, int decimals);

/// "6.0 px a mm", "152 px an inch".
InUnits density_words(double px_per_mm, int decimals);

}  // namespace evenbevel
