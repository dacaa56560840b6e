#pragma once

#include <optional>
#include <vector>

#include <Eigen/Core>

#include "evenbevel/camera.hpp"
#include "evenbevel/card.hpp"

namespace evenbevel {

/// Where a point of the card's sheet is in the picture; empty behind the camera.
std::optional<Eigen::Vector2d> card_pixel(const CameraModel& camera, const CardPose& pose,
                                          const Eigen::Vector2d& card_mm);

/// The lane's border in the picture, all four sides in many places, so that a lens that bends them
/// is followed; empty where the card has no lane. Stored pixel grid, not closed.
std::vector<Eigen::Vector2d> lane_outline_px(CardKind kind, const CameraModel& camera,
                                             const CardPose& pose);

}  // namespace evenbevel
