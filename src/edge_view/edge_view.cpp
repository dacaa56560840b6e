#include "evenbevel/edge_view.hpp"

#include "evenbevel/error.hpp"
#include "with_card.hpp"
#include "without_card.hpp"

namespace evenbevel {

std::string_view name(Stage stage) {
  switch (stage) {
    case Stage::scribed:
      return "scribed";
    case Stage::ground:
      return "ground";
    case Stage::bevelled:
      return "bevelled";
  }
  return "";
}

std::string_view name(EdgeTrace::Kind kind) {
  switch (kind) {
    case EdgeTrace::Kind::flat_left:
      return "left flat";
    case EdgeTrace::Kind::flat_right:
      return "right flat";
    case EdgeTrace::Kind::scribe_left:
      return "left scribe line";
    case EdgeTrace::Kind::scribe_right:
      return "right scribe line";
    case EdgeTrace::Kind::land_left:
      return "left border of the land";
    case EdgeTrace::Kind::land_right:
      return "right border of the land";
  }
  return "";
}

namespace {

FoundCard card_of(const Photo& photo) {
  constexpr int kNeededCorners = 16;
  try {
    return require_card(grey8(photo.pixels), CardKind::edge, kNeededCorners);
  } catch (const Error& e) {
    throw Error(e.what_is_wrong(),
                e.what_to_do() + "; or take a quick look without it (--no-card)");
  }
}

EdgeResult measured(const Photo& photo, const CameraModel& camera, const EdgeSettings& settings) {
  if (!camera.guessed) require_same_camera(camera, photo);
  if (!settings.card) {
    EdgeSettings without = settings;
    without.edge_height_mm.reset();
    return edge::measure_without_card(photo, camera, without);
  }
  const FoundCard card = card_of(photo);
  const SeenCard seen = see_card(card, camera, settings.print);
  EdgeResult result = edge::measure_with_card(photo, seen.camera, seen.pose, settings);
  if (const auto note = lens_note(seen.pose.lens)) result.warnings.push_back(*note);
  result.corners_found = static_cast<int>(card.corners.size());
  result.corners = card.corners;
  return result;
}

}  // namespace

EdgeResult edge_view(const Photo& photo, const CameraModel& camera, const EdgeSettings& settings) {
  EdgeResult result = measured(photo, camera, settings);
  result.lens_guessed = camera.guessed;
  result.assumed_facet_angle_rad = settings.facet_angle_rad;
  return result;
}

}  // namespace evenbevel
