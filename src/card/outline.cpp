#include <utility>

#include "evenbevel/card_outline.hpp"

namespace evenbevel {

std::optional<Eigen::Vector2d> card_pixel(const CameraModel& camera, const CardPose& pose,
                                          const Eigen::Vector2d& card_mm) {
  const Point<Camera> p =
      pose.T_camera_card * Point<Card>{Eigen::Vector3d(card_mm.x(), card_mm.y(), 0.0)};
  if (p.mm.z() <= 0.0) return std::nullopt;
  return project(camera, p);
}

std::vector<Eigen::Vector2d> lane_outline_px(CardKind kind, const CameraModel& camera,
                                             const CardPose& pose) {
  constexpr int kSteps = 24;
  const CardLayout& layout = card_layout(kind);
  if (layout.lane_columns == 0) return {};
  const Eigen::AlignedBox2d lane = layout.lane_mm();
  std::vector<Eigen::Vector2d> outline;
  using Box = Eigen::AlignedBox2d;
  for (const auto& [from, to] :
       {std::pair(Box::BottomLeft, Box::BottomRight), std::pair(Box::BottomRight, Box::TopRight),
        std::pair(Box::TopRight, Box::TopLeft), std::pair(Box::TopLeft, Box::BottomLeft)}) {
    const Eigen::Vector2d begin = lane.corner(from), end = lane.corner(to);
    for (int i = 0; i < kSteps; ++i) {
      const Eigen::Vector2d at = begin + (end - begin) * (static_cast<double>(i) / kSteps);
      if (const auto q = card_pixel(camera, pose, at)) outline.push_back(*q);
    }
  }
  return outline;
}

}  // namespace evenbevel
