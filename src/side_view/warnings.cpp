#include "warnings.hpp"

#include <algorithm>
#include <cmath>
#include <string>

namespace evenbevel::side {
namespace {

void add_face(const FaceNumbers& face, SideResult& result) {
  constexpr double kWellCovered = 0.85, kMuchClipped = 0.25, kFarAsideMm = 0.25;
  const FaceReading& reading = face.reading();
  const std::string where(name(reading.face));
  const auto percent = [](double share) { return std::lround(100.0 * share); };
  if (reading.bevel.empty()) {
    result.warnings.push_back(remark<RemarkCode::no_bevel_line>(where));
    result.advice.push_back(remark<RemarkCode::light_for_bevel_line>(where));
  } else if (reading.look.bevel_coverage < kWellCovered) {
    result.warnings.push_back(
        remark<RemarkCode::bevel_line_in_parts>(where, percent(reading.look.bevel_coverage)));
    result.advice.push_back(remark<RemarkCode::light_for_bevel_line>(where));
  }
  if (reading.plunge.empty() && !reading.bevel.empty())
    result.warnings.push_back(remark<RemarkCode::no_plunge_line>(where));
  if (reading.look.clipped_share > kMuchClipped) {
    result.warnings.push_back(
        remark<RemarkCode::face_over_exposed>(percent(reading.look.clipped_share), where));
    result.advice.push_back(remark<RemarkCode::expose_face_less>(where));
  }
  if (reading.plane.camera().guessed) {
    result.warnings.push_back(remark<RemarkCode::face_lens_assumed>(where));
  }
  constexpr double kBentMm = 0.3;
  constexpr double kMostRejected = 0.1;  // Of the corners: a bent part is left out of the pose.
  const CardPose& pose = reading.look.pose;
  if (const auto note = lens_note(pose.lens)) result.warnings.push_back(*note);
  const bool bowed = pose.bend_mm > kBentMm && pose.bend_mm > 3.0 * pose.bend_u_mm;
  if (bowed || pose.rejected > kMostRejected * reading.look.corners_found) {
    result.warnings.push_back(remark<RemarkCode::card_not_flat>(where));
    result.advice.push_back(remark<RemarkCode::lay_card_flat>());
  }
  const Eigen::Vector3d& eye = reading.plane.eye();
  if (std::abs(eye.y() - 0.5 * reading.look_spine_z_mm) > kFarAsideMm * eye.z()) {
    result.warnings.push_back(remark<RemarkCode::camera_aside>(where));
    result.advice.push_back(remark<RemarkCode::camera_over_blade>());
  }
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
    result.warnings.push_back(remark<RemarkCode::no_place_from_plunge>());
  if (asked(true) && !given(true))
    result.warnings.push_back(remark<RemarkCode::no_place_from_tip>());
  if (settings.mean_over && !result.x_from_plunge)
    result.warnings.push_back(remark<RemarkCode::means_from_handle_end>());
}

}  // namespace evenbevel::side
