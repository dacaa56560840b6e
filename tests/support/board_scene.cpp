#include "board_scene.hpp"

#include <cmath>

#include "evenbevel/units.hpp"
#include "lens.hpp"
#include "seeded.hpp"

namespace evenbevel::test {

std::vector<Eigen::Vector2d> board_points(int columns, int rows, double pitch_mm) {
  std::vector<Eigen::Vector2d> points;
  for (int row = 0; row < rows; ++row) {
    for (int column = 0; column < columns; ++column) {
      points.emplace_back((column - 0.5 * (columns - 1)) * pitch_mm,
                          (0.5 * (rows - 1) - row) * pitch_mm);
    }
  }
  return points;
}

CameraModel true_camera() {
  CameraModel camera;
  camera.width_px = 1600;
  camera.height_px = 1200;
  camera.focal_px = {1310.0, 1306.0};
  camera.centre_px = {811.0, 588.0};
  camera.lens = Lens("pinhole", {-0.11, 0.06, 0.0012, -0.0008, -0.01});
  return camera;
}

CameraModel fisheye_camera() {
  CameraModel camera = true_camera();
  camera.focal_px = {702.0, 700.0};
  camera.lens = Lens("fisheye", {-0.02, 0.008, -0.006, 0.0015});
  return camera;
}

Eigen::Isometry3d random_pose(std::mt19937_64& rng, double distance_mm) {
  // Facing the camera: x right, y up the page is -y of the camera, z toward the camera.
  const Eigen::Matrix3d facing = Eigen::Vector3d(1.0, -1.0, -1.0).asDiagonal();
  const double turn = uniform(rng, -kPi, kPi);
  const double toward = uniform(rng, -kPi, kPi);
  const double tilt = radians(uniform(rng, 5.0, 40.0));
  Eigen::Isometry3d pose = Eigen::Isometry3d::Identity();
  pose.linear() =
      Eigen::AngleAxisd(tilt, Eigen::Vector3d(std::cos(toward), std::sin(toward), 0.0)) *
      Eigen::AngleAxisd(turn, Eigen::Vector3d::UnitZ()).toRotationMatrix() * facing;
  pose.translation() = Eigen::Vector3d(uniform(rng, -0.25, 0.25) * distance_mm,
                                       uniform(rng, -0.2, 0.2) * distance_mm, distance_mm);
  return pose;
}

CalibrationView seen(const std::string& name, const CameraModel& camera,
                     const std::vector<Eigen::Vector2d>& board_mm,
                     const Eigen::Isometry3d& T_camera_card, double noise_px,
                     std::mt19937_64& rng) {
  CalibrationView view;
  view.name = name;
  for (const Eigen::Vector2d& p_mm : board_mm) {
    const Eigen::Vector3d p = T_camera_card * Eigen::Vector3d(p_mm.x(), p_mm.y(), 0.0);
    const Eigen::Vector2d exact = lens_pixel(camera, p.hnormalized());
    const bool inside = exact.x() > 2.0 && exact.y() > 2.0 && exact.x() < camera.width_px - 3.0 &&
                        exact.y() < camera.height_px - 3.0;
    if (!inside) continue;
    view.points_mm.push_back(p_mm);
    const double noise_x = noise_px * normal(rng);
    const double noise_y = noise_px * normal(rng);
    view.points_px.push_back(exact + Eigen::Vector2d(noise_x, noise_y));
  }
  return view;
}

std::vector<CalibrationView> random_views(const CameraModel& camera, int views, double noise_px,
                                          std::mt19937_64& rng, const Distances& distances) {
  const std::vector<Eigen::Vector2d> board = board_points(9, 6, 25.0);
  std::vector<CalibrationView> result;
  while (static_cast<int>(result.size()) < views) {
    const Eigen::Isometry3d pose =
        random_pose(rng, uniform(rng, distances.nearest_mm, distances.farthest_mm));
    std::string name = "photo";
    name += std::to_string(result.size() + 1);
    CalibrationView view = seen(name, camera, board, pose, noise_px, rng);
    if (view.points_px.size() >= 20) result.push_back(std::move(view));
  }
  return result;
}

}  // namespace evenbevel::test
