#include "evenbevel/choil_view.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "axis.hpp"
#include "card/print_look.hpp"
#include "edge_check.hpp"
#include "find_section.hpp"
#include "focus.hpp"
#include "metric.hpp"
#include "outline.hpp"
#include "refusals.hpp"
#include "section_plane.hpp"
#include "warps.hpp"

namespace evenbevel {

std::string_view name(SideShape shape) {
  switch (shape) {
    case SideShape::flat:
      return "flat";
    case SideShape::convex:
      return "convex";
    case SideShape::hollow:
      return "hollow";
    case SideShape::unresolved:
      return "unresolved";
  }
  return "";
}

std::string_view name(AxisSource source) {
  switch (source) {
    case AxisSource::flats:
      return "flats";
    case AxisSource::median_and_card:
      return "median line and card";
  }
  return "";
}

namespace choil {
namespace {

constexpr double kLaneMarginMm = 0.6;  // A hand-cut lane's own rim.
constexpr double kBelowCardMm = 40.0;  // The section may be seen before and between the jaws.

PlaneRange search_range(const PrintScale& print) {
  const Eigen::AlignedBox2d lane = card_layout(CardKind::heel).lane_mm();
  return {lane.min().x() * print.along + kLaneMarginMm,
          lane.max().x() * print.along - kLaneMarginMm, -lane.max().y() * print.across + 0.6,
          -lane.min().y() * print.across + kBelowCardMm};
}

/// Pixels of the range, and of the plane only down to where the picture ends.
cv::Rect region_of(const SectionPlane& plane, const PlaneRange& range) {
  Eigen::Vector2d low = plane.pixel({range.y_low, range.down_low}), high = low;
  for (int i = 0; i <= 4; ++i) {
    const double down = range.down_low + i * (range.down_high - range.down_low) / 4.0;
    for (const double y : {range.y_low, 0.0, range.y_high}) {
      const Eigen::Vector2d q = plane.pixel({y, down});
      low = low.cwiseMin(q);
      high = high.cwiseMax(q);
    }
  }
  constexpr int kSpare = 4;
  return {cv::Point(static_cast<int>(low.x()) - kSpare, static_cast<int>(low.y()) - kSpare),
          cv::Point(static_cast<int>(high.x()) + kSpare, static_cast<int>(high.y()) + kSpare)};
}

}  // namespace
}  // namespace choil

ChoilResult choil_view(const Photo& photo, const CameraModel& file, const ChoilSettings& settings) {
  using namespace choil;
  constexpr int kNeededCorners = 12;
  if (!file.guessed) require_same_camera(file, photo);
  const FoundCard card = require_card(grey8(photo.pixels), CardKind::heel, kNeededCorners);
  const auto [camera, pose] = see_card(card, file, settings.print);

  const SectionPlane plane(camera, pose.T_camera_card);
  const PlaneRange range = search_range(settings.print);
  const cv::Rect region = region_of(plane, range);
  // Sharpened as stored, borders are plainer to find; taken back, they are where they belong.
  const Straightened image = straighten(light_patch(photo.pixels, region), plane, range, 0.05, 0.1);
  const Search search = find_section(image, plane);
  require_section(search, card_white(photo.pixels, plane, settings.print));
  const PrintLook look =
      print_look(photo.pixels, camera, pose.T_camera_card, CardKind::heel, settings.print);
  const Patch patch = light_patch(photo.pixels, region, look.sharpening);
  Outline outline = read_outline(patch, plane, *search.section);
  require_sharp(outline);
  require_coverage(outline);
  require_edge(doubt_edge(patch, plane, *search.section, outline));
  outline.u_edge_down_mm = std::hypot(outline.u_edge_down_mm,
                                      u_over_the_edge_mm(shown_above(plane, outline.edge_down_mm)));
  const SectionAxis axis = find_axis(outline);

  ChoilResult result;
  result.pose = pose;
  result.corners_found = static_cast<int>(card.corners.size());
  result.scale_px_per_mm = outline.px_per_mm;
  result.blur_px = outline.blur_px;
  result.camera_distance_mm = plane.distance_mm();
  result.clipped_share = outline.clipped_share;
  const Circumstances around{
      .pose = pose_warps(camera, pose),
      .lens = lens_warps(camera, card, settings.print, pose),
      .print_u = settings.print.u,
      .distance_mm = plane.distance_mm(),
      .foot_offset_mm = plane.foot_mm().x() - outline.edge_y_mm,
      .clipped_share = outline.clipped_share,
      .fringe_px = fringe_px(outline.blur_px, look.blur_px),
  };
  measure_section(result, outline, axis, plane, settings, around);
  require_agreement(result, settings);
  add_warnings(result, outline, *search.section, around.foot_offset_mm, axis.doubtful);
  return result;
}

}  // namespace evenbevel
