#include "report/edge_words.hpp"

#include <algorithm>
#include <cmath>

#include "evenbevel/advice.hpp"
#include "report/edge_quantities.hpp"
#include "report/verdict.hpp"

namespace evenbevel {
namespace {

std::string worst_words(const EdgeResult& result, const Measured& worst, LengthUnit unit) {
  const Printed number = printed_length(worst, unit, Sign::always);
  return "worst " + number.value + " (U95 " + number.U95 +
         ") at x = " + printed_position(result.worst_x_mm, unit);
}

std::string by_what(const EdgeResult& result) {
  return result.photos.size() > 1 ? "not resolved by these photos: "
                                  : "not resolved by this photo: ";
}

std::string why_unresolved(const EdgeResult& result, const Measured& worst,
                           const std::string& tolerance, const std::string& numbers,
                           double tolerance_mm) {
  if (std::abs(worst.value) + U95(worst) <= tolerance_mm) {
    return by_what(result) + "only " + percent(seen_share(result)) +
           " of the stations were seen (" + numbers + ")";
  }
  return by_what(result) + "the interval of the worst place holds both sides of " + tolerance +
         " (" + numbers + ")";
}

}  // namespace

Verdict edge_verdict(const EdgeResult& result, const ReportSettings& settings) {
  if (!settings.tolerance_mm) return Verdict::none;
  const Verdict verdict = verdict_of(result.centreline_offset_worst_mm, *settings.tolerance_mm);
  const bool seen = seen_share(result) >= kSeenForWithin;
  return verdict == Verdict::within && !seen ? Verdict::unresolved : verdict;
}

std::string edge_headline(const EdgeResult& result, const ReportSettings& settings) {
  const Verdict verdict = edge_verdict(result, settings);
  const bool outside = verdict == Verdict::outside;
  return headline(verdict,
                  {.mm = result.centreline_offset_worst_mm,
                   .positive = outside ? "TOO FAR LEFT" : "LEFT OF THE MIDDLE",
                   .negative = outside ? "TOO FAR RIGHT" : "RIGHT OF THE MIDDLE",
                   .unresolved = "OFF THE MIDDLE",
                   .missing = "OFFSET NOT SEEN"},
                  settings);
}

std::string verdict_sentence(const EdgeResult& result, const ReportSettings& settings) {
  if (!settings.tolerance_mm) return "none, no tolerance was given";
  const std::string tolerance = format_length(*settings.tolerance_mm, settings.unit);
  const std::optional<Measured> worst = measured(result.centreline_offset_worst_mm);
  if (!worst) return by_what(result) + "no centreline offset shows";
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

std::string edge_note(const Quantity& quantity, const EdgeResult& result, LengthUnit unit) {
  if (quantity.is("centreline_offset")) return toward(quantity.value);
  if (quantity.is("centreline_offset_worst")) {
    return "at x = " + printed_position(result.worst_x_mm, unit);
  }
  if (quantity.is("setup_offset") && resolved(quantity.value)) {
    return quantity.value.value > 0.0 ? "toward the card's upper edge"
                                      : "toward the card's lower edge";
  }
  if (quantity.is("plunge_mismatch") && resolved(quantity.value)) {
    return quantity.value.value > 0.0 ? "left one nearer the tip" : "right one nearer the tip";
  }
  return "";
}

std::string view_words(const EdgeResult& result) {
  if (result.photos.size() > 1) {
    const auto turned = std::count_if(result.photos.begin(), result.photos.end(),
                                      [](const EdgePhotoPart& photo) { return photo.turned; });
    return "edge view, " + std::to_string(result.photos.size()) + " photos" +
           (turned > 0 ? ", the blade turned in " + std::to_string(turned) + " of them" : "");
  }
  return result.pose ? "edge view" : "edge view, quick look, no card";
}

std::vector<Remark> photo_advice(const EdgeResult& result, const ReportSettings& settings) {
  std::vector<Remark> all;
  if (auto calibrate = calibrate_first(result)) all.push_back(std::move(*calibrate));
  if (settings.tolerance_mm) {
    if (auto next = next_photo(result, *settings.tolerance_mm)) all.push_back(std::move(*next));
  }
  add_new(all, result.advice);
  return all;
}

std::string origin_sentence(const EdgeResult& result) {
  return result.x_from_plunge ? "x = 0 at the middle of the two plunge lines, x grows to the tip"
                              : "x = 0 at the first station, x grows to the tip";
}

std::vector<InUnits> blade_advice(const EdgeResult& result, const ReportSettings& settings) {
  return sentences(edge_advice(result, settings.wanted_land_mm, settings.tolerance_mm));
}

}  // namespace evenbevel
