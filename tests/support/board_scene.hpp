#pragma once

#include <random>
#include <vector>

#include "evenbevel/calibrate.hpp"

namespace evenbevel::test {

/// A board of columns x rows corners, card frame, z = 0.
std::vector<Eigen::Vector2d> board_points(int columns, int rows, double pitch_mm);

/// A phone-like camera of 1600 x 1200 px with a visible barrel distortion.
CameraModel true_camera();

/// The same with an action camera's lens: 130 degrees along the long side.
CameraModel fisheye_camera();

/// A pose that holds the board in view: tilted up to 40 degrees in any direction, turned anyhow.
Eigen::Isometry3d random_pose(std::mt19937_64& rng, double distance_mm);

/// The corners that fall into the picture, with normal noise on each coordinate.
CalibrationView seen(const std::string& name, const CameraModel& camera,
                     const std::vector<Eigen::Vector2d>& board_mm,
                     const Eigen::Isometry3d& T_camera_card, double noise_px, std::mt19937_64& rng);

struct Distances {
  double nearest_mm = 200.0, farthest_mm = 380.0;
};

std::vector<CalibrationView> random_views(const CameraModel& camera, int views, double noise_px,
                                          std::mt19937_64& rng, const Distances& distances = {});

}  // namespace evenbevel::test
