// The lens model against OpenCV's own implementation of it (calib3d 4.6): projectPoints with its
// derivatives, and undistortPoints.

#include <gtest/gtest.h>
#include <opencv2/calib3d.hpp>
#include <opencv2/core.hpp>

#include "evenbevel/camera.hpp"
#include "opencv_camera.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

using test::uniform;

struct Scene {
  CameraModel camera;
  cv::Matx33d K;
  std::vector<double> D;
  std::vector<Point<Camera>> points;
  std::vector<cv::Point3d> same_points;
};

Scene random_scene(int number) {
  std::mt19937_64 rng = test::seeded("CameraOutside", number);
  Scene scene;
  CameraModel& camera = scene.camera;
  camera.focal_px.x() = uniform(rng, 500, 3500);
  camera.focal_px.y() = camera.focal_px.x() * uniform(rng, 0.95, 1.05);
  camera.centre_px.x() = uniform(rng, 300, 2000);
  camera.centre_px.y() = uniform(rng, 200, 1500);
  camera.lens =
      Lens("pinhole", {uniform(rng, -0.25, 0.1), uniform(rng, -0.1, 0.1), uniform(rng, -2e-3, 2e-3),
                       uniform(rng, -2e-3, 2e-3), uniform(rng, -0.05, 0.05)});
  scene.K = test::matrix_of(camera);
  scene.D.assign(camera.lens.values().begin(), camera.lens.values().end());
  for (int i = 0; i < 40; ++i) {
    const double z = uniform(rng, 50, 500);
    const Eigen::Vector3d p(z * uniform(rng, -0.6, 0.6), z * uniform(rng, -0.45, 0.45), z);
    scene.points.push_back({p});
    scene.same_points.emplace_back(p.x(), p.y(), p.z());
  }
  return scene;
}

TEST(CameraOutside, ProjectsAndDifferentiatesLikeProjectPoints) {
  for (int number = 0; number < 20; ++number) {
    const Scene scene = random_scene(number);
    std::vector<cv::Point2d> expected;
    cv::Mat jacobian;  // columns: rotation 3, translation 3, fx fy, cx cy, k1 k2 p1 p2 k3
    cv::projectPoints(scene.same_points, cv::Vec3d(), cv::Vec3d(), scene.K, scene.D, expected,
                      jacobian);
    for (std::size_t i = 0; i < expected.size(); ++i) {
      Eigen::Matrix<double, 2, 3> d_point;
      LensJacobian d_parameters;
      const Eigen::Vector2d q_px = project(scene.camera, scene.points[i], &d_point, &d_parameters);
      EXPECT_NEAR(q_px.x(), expected[i].x, 1e-9);  // rounding at 1e3 to 1e4 px
      EXPECT_NEAR(q_px.y(), expected[i].y, 1e-9);
      for (int row = 0; row < 2; ++row) {
        const double* theirs = jacobian.ptr<double>(2 * static_cast<int>(i) + row);
        for (int k = 0; k < 3; ++k) EXPECT_NEAR(d_point(row, k), theirs[3 + k], 1e-9);
        for (int k = 0; k < parameter_count(scene.camera); ++k) {
          EXPECT_NEAR(d_parameters(row, k), theirs[6 + k], 1e-9) << k;
        }
      }
    }
  }
}

TEST(CameraOutside, RaysAreThoseOfUndistortPoints) {
  const cv::TermCriteria many(cv::TermCriteria::COUNT | cv::TermCriteria::EPS, 1000, 1e-14);
  for (int number = 0; number < 20; ++number) {
    const Scene scene = random_scene(number);
    for (const Point<Camera>& p : scene.points) {
      const Eigen::Vector2d q_px = project(scene.camera, p);
      std::vector<cv::Point2d> theirs;
      cv::undistortPoints(std::vector<cv::Point2d>{{q_px.x(), q_px.y()}}, theirs, scene.K, scene.D,
                          cv::noArray(), cv::noArray(), many);
      const Eigen::Vector3d ours = ray(scene.camera, q_px);
      // Their fixed-point steps stop at 1e-14 px or stall at rounding; 1e-9 is a millionth of a px.
      EXPECT_NEAR(ours.x(), theirs[0].x, 1e-9);
      EXPECT_NEAR(ours.y(), theirs[0].y, 1e-9);
    }
  }
}

}  // namespace
}  // namespace evenbevel
