#pragma once

#include <functional>
#include <vector>

#include <Eigen/Core>

#include "evenbevel/card.hpp"
#include "section_plane.hpp"

namespace evenbevel::choil {

/// Where a point of the plane would come to lie if camera and pose were one standard deviation off
/// along one direction of their covariance.
using Warp = std::function<Eigen::Vector2d(const Eigen::Vector2d&)>;

/// One for each of the pose's six directions, from the corners' scatter.
std::vector<Warp> pose_warps(const CameraModel& camera, const CardPose& pose);

/// One for each direction of the camera's covariance; the pose follows the card's corners, so that
/// only what the card does not see of a wrong lens is left.
std::vector<Warp> lens_warps(const CameraModel& camera, const FoundCard& card,
                             const PrintScale& scale, const CardPose& pose);

}  // namespace evenbevel::choil
