#include "lane_picture.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "evenbevel/error.hpp"
#include "found_blade.hpp"
#include "refusals.hpp"

namespace evenbevel::edge {
namespace {

constexpr double kLowestRimMm = 0.2, kHighestRimMm = 14.0;
constexpr double kGivenHeightU = 4.0;  // Of the rims, mm, generous.

/// Apparent width, in the reference plane, of two rims T apart at height z.
double apparent(double thickness_mm, double z_mm, const StripFrame& frame) {
  const double height = frame.camera_mm().z();
  return thickness_mm * (height - frame.reference_height_mm()) / (height - z_mm);
}

/// The heights at which the flats' rims are sought.
HeightProfile rim_heights(const EdgeSettings& settings) {
  if (!settings.seen) return settings.edge_height_mm.value_or(kUsualEdgeHeightMm);
  std::vector<Eigen::Vector2d> heights;
  for (const Eigen::Vector3d& p : settings.seen->middle_mm) heights.emplace_back(p.x(), p.z());
  return HeightProfile(std::move(heights));
}

/// Where this camera must see the flats' mid-line: a height that is not known well shifts it by as
/// much as the camera looks aslant.
ExpectedMid expected_mid(const SeenBlade& seen, const StripFrame& frame, const CameraModel& camera,
                         const Transform<Camera, Card>& T_camera_card) {
  constexpr double kSure = 3.0;
  const auto at = [&](const Eigen::Vector3d& p_mm) {
    return frame.at(project(camera, T_camera_card * Point<Card>{p_mm}));
  };
  const Eigen::Vector3d &first = seen.middle_mm.front(), &last = seen.middle_mm.back();
  const Eigen::Vector2d begin = at(first), end = at(last);
  const double slope = (end.y() - begin.y()) / (end.x() - begin.x());
  const Eigen::Vector3d from = frame.camera_mm();
  const double aslant =
      (from.y() - 0.5 * (begin.y() + end.y())) / (from.z() - 0.5 * (first.z() + last.z()));
  return {.line = {begin.y() - slope * begin.x(), slope},
          .s_begin_mm = std::min(begin.x(), end.x()),
          .s_end_mm = std::max(begin.x(), end.x()),
          .within_mm = kSure * std::hypot(seen.u_across_mm, aslant * seen.u_height_mm)};
}

cv::Rect region_of(const Photo& photo, const CameraModel& camera, const CardPose& pose) {
  return lane_region(StripFrame(camera, pose.T_camera_card, 0.0, 0.0),
                     StripFrame(camera, pose.T_camera_card, kHighestRimMm, 0.0),
                     photo.pixels.size());
}

}  // namespace

cv::Rect lane_region(const StripFrame& on_card, const StripFrame& above, cv::Size size) {
  constexpr double kBesideLaneMm = 3.0;
  const Eigen::AlignedBox2d lane = card_layout(CardKind::edge).lane_mm();
  const double reach = 0.5 * lane.sizes().y() + kBesideLaneMm;
  double left = size.width, top = size.height, right = 0, bottom = 0;
  for (const StripFrame* frame : {&on_card, &above}) {
    for (int cut = 0; lane.min().x() + 5.0 * cut <= lane.max().x(); ++cut) {
      const double s = lane.min().x() + 5.0 * cut;
      for (const double t : {-reach, reach}) {
        const Eigen::Vector2d q = frame->pixel(s, t);
        left = std::min(left, q.x());
        right = std::max(right, q.x());
        top = std::min(top, q.y());
        bottom = std::max(bottom, q.y());
      }
    }
  }
  const cv::Rect region(cv::Point(static_cast<int>(left) - 2, static_cast<int>(top) - 2),
                        cv::Point(static_cast<int>(right) + 3, static_cast<int>(bottom) + 3));
  return region & cv::Rect({}, size);
}

std::pair<double, double> visible_stretch(const StripFrame& frame, cv::Size size) {
  const Eigen::AlignedBox2d lane = card_layout(CardKind::edge).lane_mm();
  double low = 1e9, high = -1e9;
  for (int cut = 0; lane.min().x() + 0.5 * cut <= lane.max().x(); ++cut) {
    const double s = lane.min().x() + 0.5 * cut;
    const Eigen::Vector2d q = frame.pixel(s, 0.0);
    if (q.x() < 3 || q.y() < 3 || q.x() > size.width - 4 || q.y() > size.height - 4) continue;
    low = std::min(low, s);
    high = std::max(high, s);
  }
  return {low, high};
}

LanePicture lane_picture(const Photo& photo, const CameraModel& camera, const CardPose& pose,
                         const EdgeSettings& settings) {
  constexpr double kLeastStretchMm = 30.0, kLeastPxPerMm = 5.0;
  const LaneImage image = lane_image(photo.pixels, region_of(photo, camera, pose));
  LanePicture lane{.on_lane = {camera, pose.T_camera_card, rim_heights(settings), 0.0},
                   .image = image,
                   .as_stored = image,
                   .stretch_mm = {},
                   .look = {}};
  lane.stretch_mm = visible_stretch(lane.on_lane, photo.pixels.size());
  if (lane.stretch_mm.second - lane.stretch_mm.first < kLeastStretchMm) {
    throw Error(
        "less than " + length_words(kLeastStretchMm, 0) + " of the card's lane is in the picture",
        "take the photo so that the whole edge and the card around it are in the picture");
  }
  const double middle = 0.5 * (lane.stretch_mm.first + lane.stretch_mm.second);
  lane.px_per_mm = lane.on_lane.px_per_mm_across(middle, 0.0);
  if (lane.px_per_mm < kLeastPxPerMm) {
    throw Error("the blade is too small in the picture: " + length_words(1.0 / lane.px_per_mm, 2) +
                    " a pixel",
                "come closer, until the card fills the picture");
  }
  return lane;
}

void look_at_card(LanePicture& lane, const Photo& photo, const CameraModel& camera,
                  const CardPose& pose) {
  const StripFrame on_card(camera, pose.T_camera_card, 0.0, 0.0);
  const CardBorders borders(lane.as_stored, on_card);
  lane.look = borders.look();
  if (!lane.look) return;
  lane.image = lane_image(photo.pixels, region_of(photo, camera, pose), borders.sharpening());
  if (const auto plain = CardBorders(lane.image, on_card).look()) lane.look = plain;
  require_not_blurred(*lane.look);
}

FlatsSearch flats_search(const LanePicture& lane, const CameraModel& camera, const CardPose& pose,
                         const EdgeSettings& settings) {
  constexpr double kAboutGivenMm = 2.5;
  const StripFrame& on_lane = lane.on_lane;
  // A rim shows up to a pixel inside of its place (broken corner) or outside (tone curve, blur).
  const double flank_mm = 1.0 / lane.px_per_mm;
  const std::optional<double> given = settings.edge_height_mm;
  const double lowest = given ? *given - kAboutGivenMm : kLowestRimMm;
  const double highest = given ? *given + kAboutGivenMm : kHighestRimMm;
  FlatsSearch search{.width_low_mm = apparent(settings.thickness_mm, lowest, on_lane) - flank_mm,
                     .width_high_mm = apparent(settings.thickness_mm, highest, on_lane) + flank_mm};
  search.width_usual_mm = settings.thickness_mm;
  search.width_usual_u_mm = settings.thickness_mm * (given ? kGivenHeightU : kUsualHeightU) /
                            (on_lane.camera_mm().z() - on_lane.reference_height_mm());
  if (settings.seen) {
    search.mid = expected_mid(*settings.seen, on_lane, camera, pose.T_camera_card);
  }
  if (lane.look) search.card_black = encoded_black(*lane.look);
  return search;
}

}  // namespace evenbevel::edge
