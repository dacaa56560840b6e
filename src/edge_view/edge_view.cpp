#include "evenbevel/edge_view.hpp"

#include "at_pose.hpp"
#include "evenbevel/error.hpp"

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

EdgeResult edge_view(const Photo& photo, const CameraModel& camera, const EdgeSettings& settings) {
  constexpr int kNeededCorners = 16;
  if (!camera.guessed) require_same_camera(camera, photo);
  const FoundCard card = require_card(grey8(photo.pixels), CardKind::edge, kNeededCorners);
  const CardPose pose = fit_card_pose(card, camera, settings.print);
  EdgeResult result = edge::measure_at_pose(photo, camera, pose, settings);
  result.corners_found = static_cast<int>(card.corners.size());
  return result;
}

}  // namespace evenbevel
