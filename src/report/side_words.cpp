#include "report/side_words.hpp"

#include <algorithm>
#include <cmath>

#include "evenbevel/advice.hpp"
#include "report/verdict.hpp"

namespace evenbevel {
namespace {

/// "bevel height difference +0.61 mm (U95 0.10 mm) at x = 40 mm: outside".
std::string judged(const char* what, const std::optional<Measured>& value, const std::string& where,
                   const ReportSettings& settings) {
  if (!measured(value)) return std::string(what) + " not measured";
  const Printed number = printed_length(*value, settings.unit, Sign::always);
  return std::string(what) + " " + number.value + " (U95 " + number.U95 + ")" + where + ": " +
         std::string(name(verdict_of(value, *settings.tolerance_mm)));
}

std::string numbers_of(const SideResult& result, const ReportSettings& settings) {
  const std::string where = " at x = " + printed_position(result.worst_x_mm, settings.unit);
  return judged("worst bevel height difference", result.bevel_height_difference_worst_mm, where,
                settings) +
         "; " + judged("plunge mismatch", result.plunge_mismatch_mm, "", settings);
}

Finding bevel_finding(const SideResult& result) {
  return {.mm = result.bevel_height_difference_worst_mm,
          .positive = "LEFT BEVEL LINE HIGHER",
          .negative = "RIGHT BEVEL LINE HIGHER",
          .unresolved = "BETWEEN THE BEVEL LINES",
          .missing = "BEVEL LINES NOT COMPARED"};
}

Finding plunge_finding(const SideResult& result) {
  return {.mm = result.plunge_mismatch_mm,
          .positive = "LEFT PLUNGE LINE NEARER THE TIP",
          .negative = "RIGHT PLUNGE LINE NEARER THE TIP",
          .unresolved = "BETWEEN THE PLUNGE LINES",
          .missing = "PLUNGE LINES NOT COMPARED"};
}

Finding face_finding(const SideResult& result) {
  const bool left = result.bevel_height_left_mm.has_value();
  const std::string high = std::string("HIGH BEVEL, ") + (left ? "LEFT" : "RIGHT");
  return {.mm = left ? result.bevel_height_left_mm : result.bevel_height_right_mm,
          .positive = high,
          .negative = high,
          .unresolved = high,
          .missing = "BEVEL LINE NOT SEEN"};
}

/// The plunge lines where they alone are what decides.
Finding side_finding(const SideResult& result, const ReportSettings& settings) {
  if (result.faces.size() < 2) return face_finding(result);
  if (!settings.tolerance_mm) return bevel_finding(result);
  const Verdict bevel = verdict_of(result.bevel_height_difference_worst_mm, *settings.tolerance_mm);
  const Verdict plunge = verdict_of(result.plunge_mismatch_mm, *settings.tolerance_mm);
  const bool plunge_decides =
      bevel != Verdict::outside &&
      (plunge == Verdict::outside || (bevel == Verdict::within && plunge != Verdict::within));
  return plunge_decides ? plunge_finding(result) : bevel_finding(result);
}

}  // namespace

std::string side_headline(const SideResult& result, const ReportSettings& settings) {
  return headline(side_verdict(result, settings), side_finding(result, settings), settings);
}

Verdict side_verdict(const SideResult& result, const ReportSettings& settings) {
  if (!settings.tolerance_mm) return Verdict::none;
  const Verdict bevel = verdict_of(result.bevel_height_difference_worst_mm, *settings.tolerance_mm);
  const Verdict plunge = verdict_of(result.plunge_mismatch_mm, *settings.tolerance_mm);
  if (bevel == Verdict::outside || plunge == Verdict::outside) return Verdict::outside;
  const bool both = bevel == Verdict::within && plunge == Verdict::within;
  return both && bevel_seen_share(result) >= kSeenForWithin ? Verdict::within : Verdict::unresolved;
}

double bevel_seen_share(const SideResult& result) {
  double least = result.faces.empty() ? 0.0 : 1.0;
  for (const FaceLook& look : result.faces) least = std::min(least, look.bevel_coverage);
  return least;
}

std::string side_verdict_sentence(const SideResult& result, const ReportSettings& settings) {
  if (!settings.tolerance_mm) return "none, no tolerance was given";
  const std::string tolerance = format_length(*settings.tolerance_mm, settings.unit);
  const std::string numbers = numbers_of(result, settings);
  switch (side_verdict(result, settings)) {
    case Verdict::within:
      return "within " + tolerance + " (" + numbers + ")";
    case Verdict::outside:
      return "outside " + tolerance + " (" + numbers + ")";
    case Verdict::unresolved:
      break;
    case Verdict::none:
      return "";
  }
  if (result.faces.size() < 2) return "not resolved: one face alone has no other to differ from";
  const bool seen = bevel_seen_share(result) >= kSeenForWithin;
  return "not resolved against " + tolerance +
         (seen ? ""
               : ", for only " + percent(bevel_seen_share(result)) + " of a bevel line was seen") +
         " (" + numbers + ")";
}

namespace {

/// "over x = 12 to 96 mm" of a mean.
std::string stretch_words(const std::optional<BladeStretch>& stretch, LengthUnit unit) {
  if (!stretch) return "";
  return "over x = " + printed_position_number(stretch->from_mm, unit) + " to " +
         printed_position(stretch->to_mm, unit);
}

}  // namespace

std::string place_label(const char* what, const BevelAtPlace& at, LengthUnit unit) {
  return std::string(what) + ", at " + printed_position(at.asked.distance_mm, unit);
}

std::string place_note(const BevelAtPlace& at, LengthUnit unit) {
  if (!at.asked.from_tip) return "from the plunge line";
  return "from the tip, x = " + printed_position(at.x_mm, unit);
}

std::string worst_place_words(const SideResult& result, LengthUnit unit) {
  const std::string at = "at x = " + printed_position(result.worst_x_mm, unit);
  if (!result.tip_x_mm) return at;
  return at + ", " + printed_position(*result.tip_x_mm - result.worst_x_mm, unit) + " from the tip";
}

std::string side_note(const Quantity& quantity, const SideResult& result, LengthUnit unit) {
  if (quantity.is("bevel_height_difference_worst")) return worst_place_words(result, unit);
  if (quantity.is("bevel_height_left")) return stretch_words(result.bevel_stretch_left, unit);
  if (quantity.is("bevel_height_right")) return stretch_words(result.bevel_stretch_right, unit);
  const bool plus = quantity.value.value > 0.0;
  if (quantity.is("bevel_height_difference") && resolved(quantity.value)) {
    return plus ? "left one higher" : "right one higher";
  }
  if (quantity.is("plunge_mismatch") && resolved(quantity.value)) {
    return plus ? "left one nearer the tip" : "right one nearer the tip";
  }
  if (quantity.is("plunge_angle_left") || quantity.is("plunge_angle_right")) {
    return plus ? "to the tip, going up" : "to the handle, going up";
  }
  return "";
}

std::string side_view_words(const SideResult& result) {
  if (result.faces.size() > 1) return "side view, both faces";
  if (result.faces.empty()) return "side view";
  return "side view, " + std::string(name(result.faces.front().face)) + " face only";
}

std::string side_origin_sentence(const SideResult& result) {
  if (!result.x_from_plunge) return "x = 0 at the handle end of the blade, x grows to the tip";
  return result.faces.size() > 1 ? "x = 0 midway between the plunge lines, x grows to the tip"
                                 : "x = 0 at the plunge line, x grows to the tip";
}

std::vector<InUnits> blade_advice(const SideResult& result, const ReportSettings& settings) {
  return sentences(side_advice(result, settings.tolerance_mm));
}

}  // namespace evenbevel
