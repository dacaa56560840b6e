#pragma once

#include <vector>

#include <Eigen/Core>

#include "evenbevel/camera.hpp"
#include "evenbevel/frames.hpp"

namespace evenbevel {

/// A corner of the card and where the photo shows it.
struct CardSighting {
  Point<Card> p_card;
  Eigen::Vector2d q_px;
};

using PoseJacobian = Eigen::Matrix<double, 2, 6>;

/// Pixel by a step of the pose.
/// @param d_point  Pixel by the point in the camera frame.
PoseJacobian pose_jacobian(const Transform<Camera, Card>& T_camera_card, const Point<Card>& p_card,
                           const Eigen::Matrix<double, 2, 3>& d_point);

/// Every corner of the card in front of the camera.
bool in_front(const Transform<Camera, Card>& T_camera_card,
              const std::vector<CardSighting>& sightings);

/// Seen minus predicted pixel, a column a sighting. @pre in_front.
Eigen::Matrix2Xd misses_px(const CameraModel& camera, const Transform<Camera, Card>& T_camera_card,
                           const std::vector<CardSighting>& sightings);

/// Robust standard deviation of one pixel coordinate.
double scatter_px(const Eigen::Matrix2Xd& misses_px);

/// Pose of a plane by least squares of the pixel misses, with Huber's weights (1.5 robust standard
/// deviations) when `robust`. Starts: both solutions of T. Collins and A. Bartoli, Int. J. Comput.
/// Vision 109 (2014), 252-286, as OpenCV gives them; then Levenberg-Marquardt.
///
/// @throws Error  No start: the sightings fit no plane in front of the camera.
Transform<Camera, Card> fit_plane_pose(const CameraModel& camera,
                                       const std::vector<CardSighting>& sightings, bool robust);

/// The same from a start that is already close.
Transform<Camera, Card> refine_plane_pose(const CameraModel& camera,
                                          const std::vector<CardSighting>& sightings, bool robust,
                                          const Transform<Camera, Card>& T_start);

}  // namespace evenbevel
