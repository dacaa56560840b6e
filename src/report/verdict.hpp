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

/// Two or three words, in capitals for the picture and the page: "WITHIN 0.050 mm".
std::string verdict_headline(Verdict verdict, const ReportSettings& settings);

/// The same settings, for words in that unit.
ReportSettings in_unit(ReportSettings settings, LengthUnit unit);

/// "40 %".
std::string percent(double share);

/// "a.", with a capital.
std::string sentence(std::string text);

}  // namespace evenbevel
