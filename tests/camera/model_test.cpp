#include <cmath>

#include <gtest/gtest.h>

#include "evenbevel/camera.hpp"
#include "evenbevel/error.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

using test::uniform;

CameraModel random_camera(std::mt19937_64& rng) {
  CameraModel camera;
  camera.width_px = 4000;
  camera.height_px = 3000;
  camera.focal_px.x() = uniform(rng, 2500, 3500);
  camera.focal_px.y() = camera.focal_px.x() * uniform(rng, 0.98, 1.02);
  camera.centre_px.x() = uniform(rng, 1900, 2100);
  camera.centre_px.y() = uniform(rng, 1400, 1600);
  camera.lens =
      Lens("pinhole", {uniform(rng, -0.1, 0.1), uniform(rng, -0.1, 0.1), uniform(rng, -2e-3, 2e-3),
                       uniform(rng, -2e-3, 2e-3), uniform(rng, -0.05, 0.05)});
  return camera;
}

Point<Camera> random_point(std::mt19937_64& rng) {
  const double z = uniform(rng, 100, 500);
  return {{z * uniform(rng, -0.6, 0.6), z * uniform(rng, -0.45, 0.45), z}};
}

TEST(CameraClosedForm, WithoutDistortionAPointProjectsByItsSlopes) {
  const CameraModel camera{.focal_px = {1000, 1100}, .centre_px = {320, 240}};
  const Eigen::Vector2d q_px = project(camera, {{20.0, -10.0, 200.0}});
  EXPECT_NEAR(q_px.x(), 320 + 100, 1e-10);
  EXPECT_NEAR(q_px.y(), 240 - 55, 1e-10);
  EXPECT_TRUE(ray(camera, q_px).isApprox(Eigen::Vector3d(0.1, -0.05, 1.0), 1e-12));
}

TEST(CameraClosedForm, TheAxisHitsThePrincipalPointWhateverTheDistortion) {
  const CameraModel camera{.focal_px = {1000, 1000},
                           .centre_px = {320, 240},
                           .lens = Lens("pinhole", {0.3, -0.2, 0.01, -0.02, 0.1})};
  EXPECT_TRUE(project(camera, {{0, 0, 50}}).isApprox(Eigen::Vector2d(320, 240), 1e-12));
  EXPECT_TRUE(ray(camera, {320, 240}).isApprox(Eigen::Vector3d(0, 0, 1), 1e-12));
}

// Radial k1 alone, worked by hand: r = 0.5, k1 = 0.2: factor 1 + 0.2 * 0.25 = 1.05.
TEST(CameraClosedForm, RadialDistortionMovesAPointOutwardByItsFactor) {
  const CameraModel camera{.focal_px = {1000, 1000}, .lens = Lens("pinhole", {0.2, 0, 0, 0, 0})};
  EXPECT_TRUE(project(camera, {{0.3, 0.4, 1}}).isApprox(Eigen::Vector2d(315, 420), 1e-12));
}

TEST(CameraClosedForm, RaysComeBackThroughTheirPixel) {
  std::mt19937_64 rng = test::seeded("CameraRays", 0);
  for (int i = 0; i < 500; ++i) {
    const CameraModel camera = random_camera(rng);
    const Eigen::Vector2d q_px(uniform(rng, 0, 3999), uniform(rng, 0, 2999));
    const Eigen::Vector2d back_px = project(camera, {ray(camera, q_px) * 250.0});
    // 1e-12 in slope is 3e-9 px at this focal length.
    EXPECT_LT((back_px - q_px).norm(), 1e-8) << "camera " << i;
  }
}

// Central differences: their own error is about 1e-9 of the value for these steps.
TEST(CameraClosedForm, DerivativesByThePointAreTheDifferences) {
  std::mt19937_64 rng = test::seeded("CameraPointDerivatives", 0);
  for (int i = 0; i < 50; ++i) {
    const CameraModel camera = random_camera(rng);
    const Point<Camera> p = random_point(rng);
    Eigen::Matrix<double, 2, 3> J;
    project(camera, p, &J, nullptr);
    for (int k = 0; k < 3; ++k) {
      constexpr double kStep_mm = 1e-3;
      const Eigen::Vector3d step = Eigen::Vector3d::Unit(k) * kStep_mm;
      const Eigen::Vector2d difference =
          (project(camera, {p.mm + step}) - project(camera, {p.mm - step})) / (2 * kStep_mm);
      EXPECT_LT((J.col(k) - difference).norm(), 1e-6 * (1.0 + J.norm())) << k;
    }
  }
}

TEST(CameraClosedForm, DerivativesByTheParametersAreTheDifferences) {
  std::mt19937_64 rng = test::seeded("CameraParameterDerivatives", 0);
  for (int i = 0; i < 50; ++i) {
    const CameraModel camera = random_camera(rng);
    const Point<Camera> p = random_point(rng);
    LensJacobian J;
    project(camera, p, nullptr, &J);
    for (int k = 0; k < parameter_count(camera); ++k) {
      // Projection is linear in every parameter: the step only has to beat rounding.
      const double step = k < 4 ? 1.0 : 1e-3;
      const LensVector change = step * LensVector::Unit(parameter_count(camera), k);
      const CameraModel more = moved_lens(camera, change), less = moved_lens(camera, -change);
      const Eigen::Vector2d difference = (project(more, p) - project(less, p)) / (2 * step);
      EXPECT_LT((J.col(k) - difference).norm(), 1e-8 * (1.0 + J.norm())) << k;
    }
  }
}

// r (1 - r^2 / 2) grows up to r = sqrt(2 / 3), where it is sqrt(2 / 3) * 2 / 3 = 0.54433.
TEST(CameraBadInput, APixelBeyondTheFoldHasNoRay) {
  const CameraModel camera{.focal_px = {1000, 1000}, .lens = Lens("pinhole", {-0.5, 0, 0, 0, 0})};
  EXPECT_NEAR(ray(camera, {544.0, 0.0}).x(), 0.80, 0.02);
  EXPECT_THROW(ray(camera, {545.0, 0.0}), Error);
  EXPECT_THROW(ray(camera, {2000.0, 0.0}), Error);
}

TEST(CameraClosedForm, AFileWithoutCovarianceGetsATypicalOne) {
  CameraModel camera;
  camera.width_px = 4000;
  camera.focal_px.setConstant(3000);
  const auto covariance = covariance_or_typical(camera);
  EXPECT_GT(covariance(0, 0), 0.0);
  EXPECT_LT(std::sqrt(covariance(0, 0)), 30.0);  // 1 %: a guess, not a calibration
  camera.covariance.emplace().setIdentity(9, 9);
  EXPECT_TRUE(covariance_or_typical(camera).isIdentity());
}

}  // namespace
}  // namespace evenbevel
