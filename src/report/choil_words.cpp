#include "report/choil_words.hpp"

#include <cmath>

#include "evenbevel/advice.hpp"
#include "report/verdict.hpp"

namespace evenbevel {
namespace {

std::string wheel_words(const SectionSide& side, LengthUnit unit) {
  if (!side.hollow_radius_low_mm) return "";
  const std::string wheel =
      "a " + printed_position(2.0 * side.hollow_radius_mm->value, unit) + " wheel; ";
  const std::string from = wheel + "95 %: " + printed_position(*side.hollow_radius_low_mm, unit);
  return side.hollow_radius_high_mm
             ? from + " to " + printed_position(*side.hollow_radius_high_mm, unit)
             : from + " and up; a straight side fits too";
}

std::string shape_words(SideShape shape) {
  return shape == SideShape::unresolved ? "shape not resolved" : std::string(name(shape));
}

}  // namespace

Verdict choil_verdict(const ChoilResult& result, const ReportSettings& settings) {
  if (!settings.tolerance_mm) return Verdict::none;
  return verdict_of(result.asymmetry_mm, *settings.tolerance_mm);
}

std::string choil_headline(const ChoilResult& result, const ReportSettings& settings) {
  return headline(choil_verdict(result, settings),
                  {.mm = result.asymmetry_mm,
                   .positive = "LEFT HALF THICKER",
                   .negative = "RIGHT HALF THICKER",
                   .unresolved = "BETWEEN THE HALVES",
                   .missing = "HALVES NOT COMPARED"},
                  settings);
}

std::string choil_verdict_sentence(const ChoilResult& result, const ReportSettings& settings) {
  if (!settings.tolerance_mm) return "none, no tolerance was given";
  const std::string tolerance = format_length(*settings.tolerance_mm, settings.unit);
  const std::optional<Measured> asymmetry = measured(result.asymmetry_mm);
  if (!asymmetry) return "not resolved by this photo: it shows no asymmetry";
  const Printed number = printed_length(*asymmetry, settings.unit, Sign::always);
  const std::string numbers = " (asymmetry " + number.value + ", U95 " + number.U95 + ", " +
                              depth_words(result.asymmetry_depth_mm, settings.unit) + ")";
  switch (choil_verdict(result, settings)) {
    case Verdict::within:
      return "within " + tolerance + numbers;
    case Verdict::outside:
      return "outside " + tolerance + numbers;
    case Verdict::unresolved:
      return "not resolved by this photo: the interval holds both sides of " + tolerance + numbers;
    case Verdict::none:
      break;
  }
  return "";
}

std::string choil_note(const Quantity& quantity, const ChoilResult& result, LengthUnit unit) {
  if (quantity.is("edge_thickness") && result.edge_depth_mm > 0.0) {
    return depth_words(result.edge_depth_mm, unit);
  }
  if (quantity.is("asymmetry")) return depth_words(result.asymmetry_depth_mm, unit);
  if (quantity.is("angle_left")) return shape_words(result.left.shape);
  if (quantity.is("angle_right")) return shape_words(result.right.shape);
  if (quantity.is("hollow_radius_left")) return wheel_words(result.left, unit);
  if (quantity.is("hollow_radius_right")) return wheel_words(result.right, unit);
  return "";
}

std::string depth_words(double depth_mm, LengthUnit unit) {
  return trimmed_length(depth_mm, unit) + " behind the edge";
}

std::string range_sentence(const ChoilResult& result, LengthUnit unit) {
  const std::string axis = result.axis_from == AxisSource::flats
                               ? "; the axis is the middle of the flats"
                               : "; no flats seen, the axis is the section's own middle line";
  return "angles and shapes from " + trimmed_length(result.range_from_mm, unit) + " to " +
         trimmed_length(result.range_to_mm, unit) + " behind the edge" + axis;
}

std::vector<InUnits> blade_advice(const ChoilResult& result, const ReportSettings& settings) {
  return sentences(choil_advice(result, settings.tolerance_mm));
}

}  // namespace evenbevel
