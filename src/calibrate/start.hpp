#pragma once

#include <optional>
#include <span>

#include <Eigen/Geometry>
#include <opencv2/core/types.hpp>

#include "evenbevel/calibrate.hpp"

namespace evenbevel::calibrate_detail {

/// Homography from the board (mm) to the picture (px), robust against stray corners; empty when
/// the corners do not span a plane.
std::optional<Eigen::Matrix3d> board_homography(const CalibrationView& view);

/// Focal length in px from the perspective of all views together (square pixels, principal point
/// at the picture's centre); empty when no view is tilted enough to show any.
std::optional<double> focal_length_px(std::span<const Eigen::Matrix3d> homographies,
                                      cv::Size image_size);

/// The view as a pinhole of the same focal length would show it; without the corners that lie too
/// far from the axis for that.
CalibrationView straightened(const CameraModel& camera, std::span<const Point<Card>> points,
                             std::span<const Eigen::Vector2d> points_px);

/// Pose of the board under a camera without distortion.
Transform<Camera, Card> pose_from_homography(const Eigen::Matrix3d& homography, double focal_px,
                                             const Eigen::Vector2d& centre_px);

/// The other reading of a nearly flat perspective: the board tilted the opposite way about the
/// line of sight to `centre`.
Transform<Camera, Card> mirrored_pose(const Transform<Camera, Card>& T_camera_card,
                                      const Point<Card>& centre);

}  // namespace evenbevel::calibrate_detail
