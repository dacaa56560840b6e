#include <algorithm>
#include <cmath>

#include "advice/bevel_zones.hpp"
#include "advice/numbers.hpp"
#include "advice/sentences.hpp"
#include "evenbevel/advice.hpp"

namespace evenbevel {
namespace {

bool resolved(const std::optional<Measured>& value) {
  return value && std::abs(value->value) > U95(*value);
}

Measured size_of(Measured value) {
  value.value = std::abs(value.value);
  return value;
}

std::string with_U95(const Printed& number) { return number.value + " (U95 " + number.U95 + ")"; }

std::string one_face_sentence(const SideResult& result) {
  if (result.faces.empty()) return "Nothing was measured: grind nothing on the strength of it.";
  const bool left = result.faces.front().face == Face::left;
  return std::string("Only the ") + (left ? "left" : "right") +
         " face was photographed: take the other one as well, with --" + (left ? "right" : "left") +
         ", to set them against each other.";
}

/// Where no station asks for anything.
std::string nothing_to_grind(const SideResult& result, std::optional<double> tolerance_mm,
                             LengthUnit unit) {
  const std::optional<Measured>& worst = result.bevel_height_difference_worst_mm;
  if (!worst) {
    return "The bevel lines could not be compared in these photos: grind nothing on the strength "
           "of them.";
  }
  const std::string size = with_U95(printed_length(size_of(*worst), unit));
  if (!resolved(worst) || !tolerance_mm) {
    return "Any difference between the two bevel lines is smaller than these photos resolve: " +
           size + " at the worst place.";
  }
  return std::string("Leave the bevel lines: the ") + (worst->value > 0.0 ? "left" : "right") +
         " one is higher by up to " + size +
         " at x = " + printed_position(result.worst_x_mm, unit) + ", and " +
         format_length(*tolerance_mm, unit) + " is allowed.";
}

double most_mm(const std::vector<BevelZone>& zones, Face face) {
  double most = 0.0;
  for (const BevelZone& zone : zones) {
    if (zone.grind == face) most = std::max(most, zone.most_mm.value);
  }
  return most;
}

/// One a face that has something to lose; that with more of it first.
std::vector<std::string> grind_sentences(const std::vector<BevelZone>& zones, LengthUnit unit) {
  const bool left_first = most_mm(zones, Face::left) > most_mm(zones, Face::right);
  std::vector<std::string> sentences;
  for (const Face face :
       {left_first ? Face::left : Face::right, left_first ? Face::right : Face::left}) {
    const std::string sentence = grind_face_sentence(zones, face, unit);
    if (!sentence.empty()) sentences.push_back(sentence);
  }
  return sentences;
}

std::string mean_sentence(const Measured& mean_mm, LengthUnit unit) {
  return std::string("On average the ") + (mean_mm.value > 0.0 ? "left" : "right") +
         " bevel line is higher by " + with_U95(printed_length(size_of(mean_mm), unit)) + ".";
}

std::string lean_sentence(const Measured& difference_rad) {
  return std::string("Going up, the ") + (difference_rad.value > 0.0 ? "left" : "right") +
         " plunge line leans to the tip by " + with_U95(printed_angle(size_of(difference_rad))) +
         " more than the other one.";
}

}  // namespace

std::vector<std::string> side_advice(const SideResult& result, std::optional<double> tolerance_mm,
                                     LengthUnit unit) {
  if (result.faces.size() < 2) return {one_face_sentence(result)};
  std::vector<std::string> sentences = grind_sentences(bevel_zones(result, tolerance_mm), unit);
  if (sentences.empty()) sentences = {nothing_to_grind(result, tolerance_mm, unit)};
  if (resolved(result.bevel_height_difference_mm)) {
    sentences.push_back(mean_sentence(*result.bevel_height_difference_mm, unit));
  }
  if (result.plunge_mismatch_mm) {
    sentences.push_back(plunge_sentence(*result.plunge_mismatch_mm, "these photos resolve", unit));
  }
  if (resolved(result.plunge_angle_difference_rad)) {
    sentences.push_back(lean_sentence(*result.plunge_angle_difference_rad));
  }
  return sentences;
}

}  // namespace evenbevel
