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

std::string headline(Verdict verdict, const Finding& finding, const ReportSettings& settings) {
  const std::string open = verdict == Verdict::unresolved ? "NOT RESOLVED" : "";
  const std::optional<Measured> mm = measured(finding.mm);
  if (!mm) return open.empty() ? finding.missing : open;
  const Printed size = printed_length(std::abs(mm->value), U95(*mm), settings.unit);
  std::string words = open.empty() ? "" : open + ": ";
  if (resolved(*mm)) {
    words += size.value + " " + (mm->value > 0.0 ? finding.positive : finding.negative);
  } else {
    words += size.value + " (U95 " + size.U95 + ") " + finding.unresolved;
  }
  if (!settings.tolerance_mm) return words;
  std::string limit = format_length(*settings.tolerance_mm, settings.unit);
  return words + ", limit " + limit.substr(0, limit.find(' '));
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
