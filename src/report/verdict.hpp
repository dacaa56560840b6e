#pragma once

#include <optional>
#include <string>

#include "evenbevel/report.hpp"

namespace evenbevel {

/// A part of which a fifth was not seen cannot be called good: the worst place may be there.
inline constexpr double kSeenForWithin = 0.8;

/// ISO 14253-1: |value| against the tolerance by the whole 95 % interval. Unresolved when not
/// measured.
Verdict verdict_of(const std::optional<Measured>& value, double tolerance_mm);

/// What a verdict is on, and how its size is said by its sign.
struct Finding {
  std::optional<Measured> mm;
  std::string positive, negative;  ///< "LEFT OF THE MIDDLE".
  std::string unresolved;          ///< Where the interval holds zero: "OFF THE MIDDLE".
  std::string missing;             ///< Where there is no number: "OFFSET NOT SEEN".
};

/// The finding itself, the largest words of picture and page: "0.084 mm TOO FAR LEFT, limit 0.050".
std::string headline(Verdict verdict, const Finding& finding, const ReportSettings& settings);

/// The same settings, for words in that unit.
ReportSettings in_unit(ReportSettings settings, LengthUnit unit);

/// "40 %".
std::string percent(double share);

/// "a.", with a capital.
std::string sentence(std::string text);

}  // namespace evenbevel
