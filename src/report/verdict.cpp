#include "report/verdict.hpp"

#include <cmath>

#include "report/quantities.hpp"

namespace evenbevel {

std::string_view name(Verdict verdict) {
  switch (verdict) {
    case Verdict::none:
      return "none";
    case Verdict::within:
      return "within";
    case Verdict::outside:
      return "outside";
    case Verdict::unresolved:
      return "unresolved";
  }
  return "";
}

Verdict verdict_of(const std::optional<Measured>& value, double tolerance_mm) {
  const std::optional<Measured> seen = measured(value);
  if (!seen) return Verdict::unresolved;
  const double size_mm = std::abs(seen->value);
  const double U_mm = U95(*seen);
  if (size_mm - U_mm > tolerance_mm) return Verdict::outside;
  return size_mm + U_mm > tolerance_mm ? Verdict::unresolved : Verdict::within;
}

std::string verdict_headline(Verdict verdict, const ReportSettings& settings) {
  const std::string tolerance =
      settings.tolerance_mm ? format_length(*settings.tolerance_mm, settings.unit) : "";
  switch (verdict) {
    case Verdict::within:
      return "WITHIN " + tolerance;
    case Verdict::outside:
      return "OUTSIDE " + tolerance;
    case Verdict::unresolved:
      return "NOT RESOLVED";
    case Verdict::none:
      break;
  }
  return "MEASURED";
}

ReportSettings in_unit(ReportSettings settings, LengthUnit unit) {
  settings.unit = unit;
  return settings;
}

std::string percent(double share) { return std::to_string(std::lround(100.0 * share)) + " %"; }

std::string sentence(std::string text) {
  const bool word = text.size() > 1 && text[1] != ' ';  // x = 0 stays as it is
  if (word && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 32);
  return text.ends_with('.') ? text : text + ".";
}

}  // namespace evenbevel
