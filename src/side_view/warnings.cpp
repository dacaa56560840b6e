#include "warnings.hpp"

#include <algorithm>
#include <cmath>
#include <string>

namespace evenbevel::side {
namespace {

std::string of_face(const FaceReading& reading) {
  return std::string(name(reading.face)) + " face";
}

std::string percent(double share) {
  return std::to_string(static_cast<int>(std::lround(100.0 * share))) + " %";
}

void add_face(const FaceNumbers& face, SideResult& result) {
  constexpr double kWellCovered = 0.85, kMuchClipped = 0.25, kFarAsideMm = 0.25;
  const FaceReading& reading = face.reading();
  const std::string where = of_face(reading);
  if (reading.bevel.empty()) {
    result.warnings.push_back("No bevel line was found on the " + where + ".");
    result.advice.push_back("Light the " + where +
                            " from the side, so that flat and bevel differ in brightness.");
  } else if (reading.look.bevel_coverage < kWellCovered) {
    result.warnings.push_back("The bevel line of the " + where + " was found over only " +
                              percent(reading.look.bevel_coverage) + " of its length.");
    result.advice.push_back("Light the " + where +
                            " from the side, so that flat and bevel differ in brightness.");
  }
  if (reading.plunge.empty() && !reading.bevel.empty())
    result.warnings.push_back("No plunge line was found on the " + where + ".");
  if (reading.look.clipped_share > kMuchClipped) {
    result.warnings.push_back(percent(reading.look.clipped_share) + " of the " + where +
                              " is over-exposed (pure white).");
    result.advice.push_back("Turn the exposure down for the " + where + ", or move the light.");
  }
  if (reading.plane.camera().guessed) {
    result.warnings.push_back("The camera was not calibrated: its lens is a guess, and the " +
                              where + "'s intervals are wider for it.");
  }
  constexpr double kBentMm = 0.3;
  constexpr double kMostRejected = 0.1;  // Of the corners: a bent part is left out of the pose.
  const CardPose& pose = reading.look.pose;
  if (const auto note = lens_note(pose.lens)) result.warnings.push_back(*note);
  const bool bowed = pose.bend_mm > kBentMm && pose.bend_mm > 3.0 * pose.bend_u_mm;
  if (bowed || pose.rejected > kMostRejected * reading.look.corners_found) {
    result.warnings.push_back("The card under the " + where + " is not flat.");
    result.advice.push_back("Lay the card on something flat and hold its ends down.");
  }
  const Eigen::Vector3d& eye = reading.plane.eye();
  if (std::abs(eye.y() - 0.5 * reading.look_spine_z_mm) > kFarAsideMm * eye.z()) {
    result.warnings.push_back("The camera stood far aside of the " + where +
                              ": what lies at different heights shifts against each other.");
    result.advice.push_back("Hold the camera over the middle of the blade.");
  }
  for (const std::string& warning : reading.warnings) result.warnings.push_back(warning);
}

}  // namespace

void add_words(const FaceNumbers* left, const FaceNumbers* right, SideResult& result) {
  if (left != nullptr) add_face(*left, result);
  if (right != nullptr) add_face(*right, result);
}

void add_words_on_places(const SideSettings& settings, SideResult& result) {
  const auto given = [&](bool from_tip) {
    return std::any_of(result.bevel_at.begin(), result.bevel_at.end(),
                       [&](const BevelAtPlace& at) { return at.asked.from_tip == from_tip; });
  };
  const auto asked = [&](bool from_tip) {
    return std::any_of(settings.places.begin(), settings.places.end(),
                       [&](const AskedPlace& place) { return place.from_tip == from_tip; });
  };
  if (asked(false) && !given(false))
    result.warnings.push_back(
        "No plunge line was seen, so no bevel height can be given at a distance from it.");
  if (asked(true) && !given(true))
    result.warnings.push_back(
        "The tip was not seen, so no bevel height can be given at a distance from it.");
  if (settings.mean_over && !result.x_from_plunge)
    result.warnings.push_back(
        "No plunge line was seen: the stretch of the means is counted from the blade's handle "
        "end.");
}

}  // namespace evenbevel::side
