#include "report/words.hpp"

#include <algorithm>
#include <cmath>

#include "report/quantities.hpp"

namespace evenbevel {
namespace {

std::string percent(double share) { return std::to_string(std::lround(100.0 * share)) + " %"; }

std::string worst_words(const EdgeResult& result, const Measured& worst, LengthUnit unit) {
  const Printed number = printed_length(worst, unit, Sign::always);
  return "worst " + number.value + " (U95 " + number.U95 +
         ") at x = " + printed_position(result.worst_x_mm, unit);
}

std::string why_unresolved(const EdgeResult& result, const Measured& worst,
                           const std::string& tolerance, const std::string& numbers,
                           double tolerance_mm) {
  if (std::abs(worst.value) + U95(worst) <= tolerance_mm) {
    return "not resolved by this photo: only " + percent(seen_share(result)) +
           " of the stations were seen (" + numbers + ")";
  }
  return "not resolved by this photo: the interval of the worst place holds both sides of " +
         tolerance + " (" + numbers + ")";
}

}  // namespace

std::string verdict_headline(const EdgeResult& result, const ReportSettings& settings) {
  const std::string tolerance =
      settings.tolerance_mm ? format_length(*settings.tolerance_mm, settings.unit) : "";
  switch (edge_verdict(result, settings)) {
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

std::string verdict_sentence(const EdgeResult& result, const ReportSettings& settings) {
  if (!settings.tolerance_mm) return "none, no tolerance was given";
  const std::string tolerance = format_length(*settings.tolerance_mm, settings.unit);
  const std::optional<Measured> worst = measured(result.centreline_offset_worst_mm);
  if (!worst) return "not resolved by this photo: it shows no centreline offset";
  const std::string numbers = worst_words(result, *worst, settings.unit);
  switch (edge_verdict(result, settings)) {
    case Verdict::within:
      return "within " + tolerance + " of the middle along the blade (" + numbers + ")";
    case Verdict::outside:
      return "outside " + tolerance + " of the middle (" + numbers + ")";
    case Verdict::unresolved:
      return why_unresolved(result, *worst, tolerance, numbers, *settings.tolerance_mm);
    case Verdict::none:
      break;
  }
  return "";
}

std::vector<std::string> all_warnings(const EdgeResult& result, const Photo& photo) {
  std::vector<std::string> all = result.warnings;
  for (const std::string& warning : photo.warnings) {
    if (std::find(all.begin(), all.end(), warning) == all.end()) all.push_back(warning);
  }
  return all;
}

std::string view_words(const EdgeResult& result) {
  return result.pose ? "edge view" : "edge view, quick look, no card";
}

std::string origin_sentence(const EdgeResult& result) {
  return result.x_from_plunge ? "x = 0 at the middle of the two plunge lines, x grows to the tip"
                              : "x = 0 at the first station, x grows to the tip";
}

}  // namespace evenbevel
