#pragma once

#include <Eigen/Core>

#include "evenbevel/camera.hpp"

namespace evenbevel::test {

// The lens a second time, apart from src/camera: pinhole and the five coefficients k1 k2 p1 p2 k3;
// a fisheye by cv::fisheye, whose derivatives are not asked for.

/// A phone's 12 MP camera without distortion.
CameraModel plain_phone();

/// Pixel of a point of the plane z = 1, and the derivative where asked for.
Eigen::Vector2d lens_pixel(const CameraModel& camera, const Eigen::Vector2d& on_plane,
                           Eigen::Matrix2d* d_on_plane = nullptr);

/// The point of the plane z = 1 that a pixel sees, by Newton from `start`; the derivative to the
/// pixel where asked for.
Eigen::Vector2d lens_plane(const CameraModel& camera, const Eigen::Vector2d& q_px,
                           const Eigen::Vector2d& start, int steps,
                           Eigen::Matrix2d* d_pixel = nullptr);

}  // namespace evenbevel::test
