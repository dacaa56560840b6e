#include <cmath>

#include "advice/numbers.hpp"
#include "evenbevel/advice.hpp"

namespace evenbevel {
namespace {

std::string with_U95(const Printed& number) { return number.value + " (U95 " + number.U95 + ")"; }

std::string asymmetry_sentence(const ChoilResult& result, std::optional<double> tolerance_mm,
                               LengthUnit unit) {
  if (!result.asymmetry_mm) {
    return "The two halves of the section could not be compared in this photo: grind nothing on "
           "the strength of it.";
  }
  Measured size_mm = *result.asymmetry_mm;
  const bool left = size_mm.value > 0.0;
  size_mm.value = std::abs(size_mm.value);
  const std::string size = with_U95(printed_length(size_mm, unit));
  const std::string where = trimmed_length(result.asymmetry_depth_mm, unit) + " behind the edge";
  if (size_mm.value <= U95(size_mm)) {
    return "Any difference between the two halves is smaller than this photo resolves: " + size +
           " at the worst place.";
  }
  const std::string thicker = std::string("the ") + (left ? "left" : "right") +
                              " half is thicker by up to " + size + ", " + where;
  if (tolerance_mm && size_mm.value + U95(size_mm) <= *tolerance_mm) {
    return "Leave it: " + thicker + ", and " + format_length(*tolerance_mm, unit) + " is allowed.";
  }
  return std::string("Grind the ") + (left ? "left" : "right") + " face: " + thicker + ".";
}

std::optional<std::string> shape_sentence(const char* face, const SectionSide& side,
                                          LengthUnit unit) {
  const std::string who = std::string("The ") + face + " side is ";
  if (side.shape == SideShape::convex && side.bow_mm) {
    return who + "convex: it stands " + with_U95(printed_length(*side.bow_mm, unit)) +
           " proud of a straight one.";
  }
  if (side.shape != SideShape::hollow || !side.hollow_radius_mm) return std::nullopt;
  const auto whole = [&](double mm) { return printed_position(mm, unit); };
  std::string text =
      who + "hollow, as a wheel of " + whole(side.hollow_radius_mm->value) + " radius leaves it";
  if (!side.hollow_radius_low_mm) return text + ".";
  text += " (95 %: " + whole(*side.hollow_radius_low_mm);
  return text + (side.hollow_radius_high_mm ? " to " + whole(*side.hollow_radius_high_mm) + ")."
                                            : " and up; so short an arc does not say more).");
}

}  // namespace

std::vector<std::string> choil_advice(const ChoilResult& result, std::optional<double> tolerance_mm,
                                      LengthUnit unit) {
  std::vector<std::string> sentences = {asymmetry_sentence(result, tolerance_mm, unit)};
  if (const auto left = shape_sentence("left", result.left, unit)) sentences.push_back(*left);
  if (const auto right = shape_sentence("right", result.right, unit)) sentences.push_back(*right);
  return sentences;
}

}  // namespace evenbevel
