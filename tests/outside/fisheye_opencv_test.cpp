// The fisheye against OpenCV's own implementation of it (calib3d 4.6): fisheye::projectPoints with
// its derivatives, fisheye::undistortPoints, and fisheye::calibrate on the same corners.

#include <cmath>

#include <gtest/gtest.h>
#include <opencv2/calib3d.hpp>
#include <opencv2/core.hpp>

#include "board_scene.hpp"
#include "evenbevel/calibrate.hpp"
#include "evenbevel/camera.hpp"
#include "evenbevel/units.hpp"
#include "opencv_camera.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

using test::uniform;

struct FisheyeScene {
  CameraModel camera;
  cv::Matx33d K;
  cv::Vec4d D;
  std::vector<Point<Camera>> points;
  std::vector<cv::Point3d> same_points;
};

FisheyeScene fisheye_scene(int number) {
  std::mt19937_64 rng = test::seeded("FisheyeOutside", number);
  FisheyeScene scene;
  CameraModel& camera = scene.camera;
  camera.focal_px.x() = uniform(rng, 300.0, 1500.0);
  camera.focal_px.y() = camera.focal_px.x() * uniform(rng, 0.95, 1.05);
  camera.centre_px.x() = uniform(rng, 300.0, 2000.0);
  camera.centre_px.y() = uniform(rng, 200.0, 1500.0);
  camera.lens = Lens("fisheye", {uniform(rng, -0.05, 0.05), uniform(rng, -0.02, 0.02),
                                 uniform(rng, -0.01, 0.01), uniform(rng, -0.002, 0.002)});
  scene.K = test::matrix_of(camera);
  for (int k = 0; k < 4; ++k) scene.D[k] = camera.lens[k];
  for (int i = 0; i < 40; ++i) {
    const double angle = radians(uniform(rng, 1.0, 75.0)), around = uniform(rng, -kPi, kPi);
    const double z = uniform(rng, 50.0, 300.0), r = z * std::tan(angle);
    const Eigen::Vector3d p(r * std::cos(around), r * std::sin(around), z);
    scene.points.push_back({p});
    scene.same_points.emplace_back(p.x(), p.y(), p.z());
  }
  return scene;
}

/// Their columns: focal lengths 2, centre 2, k1 to k4, rotation 3, translation 3, skew.
constexpr int kTheirTranslation = 11;

TEST(FisheyeOutside, ProjectsAndDifferentiatesLikeTheirs) {
  for (int number = 0; number < 20; ++number) {
    const FisheyeScene scene = fisheye_scene(number);
    std::vector<cv::Point2d> expected;
    cv::Mat jacobian;
    cv::fisheye::projectPoints(scene.same_points, expected, cv::Vec3d(), cv::Vec3d(), scene.K,
                               scene.D, 0.0, jacobian);
    for (std::size_t i = 0; i < expected.size(); ++i) {
      Eigen::Matrix<double, 2, 3> d_point;
      LensJacobian d_parameters;
      const Eigen::Vector2d q_px = project(scene.camera, scene.points[i], &d_point, &d_parameters);
      EXPECT_NEAR(q_px.x(), expected[i].x, 1e-9);  // rounding at 1e3 to 1e4 px
      EXPECT_NEAR(q_px.y(), expected[i].y, 1e-9);
      for (int row = 0; row < 2; ++row) {
        const double* theirs = jacobian.ptr<double>(2 * static_cast<int>(i) + row);
        for (int k = 0; k < 3; ++k) {
          EXPECT_NEAR(d_point(row, k), theirs[kTheirTranslation + k], 1e-9) << k;
        }
        for (int k = 0; k < parameter_count(scene.camera); ++k) {
          EXPECT_NEAR(d_parameters(row, k), theirs[k], 1e-9) << k;
        }
      }
    }
  }
}

TEST(FisheyeOutside, RaysAreThoseOfUndistortPoints) {
  const cv::TermCriteria many(cv::TermCriteria::COUNT | cv::TermCriteria::EPS, 100, 1e-14);
  for (int number = 0; number < 20; ++number) {
    const FisheyeScene scene = fisheye_scene(number);
    for (const Point<Camera>& p : scene.points) {
      const Eigen::Vector2d q_px = project(scene.camera, p);
      std::vector<cv::Point2d> theirs;
      cv::fisheye::undistortPoints(std::vector<cv::Point2d>{{q_px.x(), q_px.y()}}, theirs, scene.K,
                                   scene.D, cv::noArray(), cv::noArray(), many);
      const Eigen::Vector3d ours = ray(scene.camera, q_px);
      // Tangents up to 3.7 of angles that both have to 1e-14 or so.
      EXPECT_NEAR(ours.x(), theirs[0].x, 1e-11);
      EXPECT_NEAR(ours.y(), theirs[0].y, 1e-11);
    }
  }
}

TEST(FisheyeOutside, CalibratesLikeTheirs) {
  std::mt19937_64 rng = test::seeded("FisheyeOutsideCalibrate", 0);
  const CameraModel truth = test::fisheye_camera();
  const std::vector<CalibrationView> views =
      test::random_views(truth, 10, 0.15, rng, {.nearest_mm = 110.0, .farthest_mm = 220.0});
  std::vector<std::vector<cv::Point3d>> on_board;
  std::vector<std::vector<cv::Point2d>> seen;
  for (const CalibrationView& view : views) {
    on_board.emplace_back();
    seen.emplace_back();
    for (std::size_t i = 0; i < view.points_px.size(); ++i) {
      on_board.back().emplace_back(view.points_mm[i].x(), view.points_mm[i].y(), 0.0);
      seen.back().emplace_back(view.points_px[i].x(), view.points_px[i].y());
    }
  }
  cv::Matx33d K(700.0, 0.0, 799.5, 0.0, 700.0, 599.5, 0.0, 0.0, 1.0);
  cv::Vec4d D;
  std::vector<cv::Mat> rvecs, tvecs;
  const cv::TermCriteria many(cv::TermCriteria::COUNT | cv::TermCriteria::EPS, 200, 1e-12);
  cv::fisheye::calibrate(on_board, seen, {truth.width_px, truth.height_px}, K, D, rvecs, tvecs,
                         cv::fisheye::CALIB_RECOMPUTE_EXTRINSIC | cv::fisheye::CALIB_FIX_SKEW |
                             cv::fisheye::CALIB_USE_INTRINSIC_GUESS,
                         many);
  CalibrationSettings settings;
  settings.lens = find_lens_model("fisheye");
  settings.leave_out = false;
  settings.soft_distortion = false;
  const CalibrationResult ours = calibrate(views, {truth.width_px, truth.height_px}, settings);
  // Both are at the least of the same sum of squares; they stop when steps are 1e-12 of the whole.
  EXPECT_NEAR(ours.camera.focal_px.x(), K(0, 0), 1e-4);
  EXPECT_NEAR(ours.camera.focal_px.y(), K(1, 1), 1e-4);
  EXPECT_NEAR(ours.camera.centre_px.x(), K(0, 2), 1e-4);
  EXPECT_NEAR(ours.camera.centre_px.y(), K(1, 2), 1e-4);
  for (int k = 0; k < 4; ++k) EXPECT_NEAR(ours.camera.lens[k], D[k], 1e-6) << k;
}

}  // namespace
}  // namespace evenbevel
