#pragma once

#include <random>
#include <vector>

#include "evenbevel/calibrate.hpp"

namespace evenbevel::test {

/// A board of columns x rows corners, card frame, z = 0.
std::vector<Eigen::Vector2d> board_points(int columns, int rows, double pitch_mm);

/// A phone-like camera of 1600 x 1200 px with a visible barrel distortion.
CameraModel true_camera();

/// A pose that holds the board in view: tilted up to 40 degrees in any direction, turned anyhow.
Eigen::Isometry3d random_pose(std::mt19937_64& rng, double distance_mm);

/// The corners that fall into the picture, with normal noise on each coordinate.
CalibrationView seen(const std::string& name, const CameraModel& camera,
                     const std::vector<Eigen::Vector2d>& board_mm,
                     const Eigen::Isometry3d& T_camera_card, double noise_px, std::mt19937_64& rng);

std::vector<CalibrationView> random_views(const CameraModel& camera, int views, double noise_px,
                                          std::mt19937_64& rng);

}  // namespace evenbevel::test
