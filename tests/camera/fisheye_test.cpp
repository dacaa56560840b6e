#include <cmath>

#include <gtest/gtest.h>

#include "evenbevel/camera.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/units.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

using test::uniform;

CameraModel action_camera(std::initializer_list<double> coefficients) {
  return {.width_px = 1600,
          .height_px = 1200,
          .focal_px = {700.0, 690.0},
          .centre_px = {811.0, 588.0},
          .lens = Lens("fisheye", coefficients)};
}

CameraModel random_fisheye(std::mt19937_64& rng) {
  return action_camera({uniform(rng, -0.05, 0.05), uniform(rng, -0.02, 0.02),
                        uniform(rng, -0.01, 0.01), uniform(rng, -0.002, 0.002)});
}

/// Up to 75 degrees from the axis.
Point<Camera> wide_point(std::mt19937_64& rng) {
  const double angle = radians(uniform(rng, 0.0, 75.0)), around = uniform(rng, -kPi, kPi);
  const double z = uniform(rng, 50.0, 300.0), r = z * std::tan(angle);
  return {{r * std::cos(around), r * std::sin(around), z}};
}

// By hand: at 45 degrees to the axis, in the picture's x, an equidistant lens puts a point pi / 4
// focal lengths from the principal point; k1 = 0.1 moves it by 0.1 (pi / 4)^3 more.
TEST(FisheyeClosedForm, TheAngleGoesIntoThePicturesRadius) {
  const Point<Camera> p{{80.0, 0.0, 80.0}};
  const double angle = 0.25 * kPi;
  const Eigen::Vector2d plain = project(action_camera({}), p);
  EXPECT_NEAR(plain.x(), 811.0 + 700.0 * angle, 1e-10);
  EXPECT_NEAR(plain.y(), 588.0, 1e-10);
  const Eigen::Vector2d bent = project(action_camera({0.1}), p);
  EXPECT_NEAR(bent.x(), 811.0 + 700.0 * (angle + 0.1 * std::pow(angle, 3)), 1e-10);
}

TEST(FisheyeClosedForm, TheAxisHitsThePrincipalPoint) {
  const CameraModel camera = action_camera({0.1, -0.02, 0.01, 0.003});
  EXPECT_EQ(project(camera, {{0.0, 0.0, 70.0}}), camera.centre_px);
  EXPECT_EQ(ray(camera, camera.centre_px), Eigen::Vector3d(0.0, 0.0, 1.0));
}

TEST(FisheyeClosedForm, RaysComeBackThroughTheirPixel) {
  std::mt19937_64 rng = test::seeded("FisheyeRays", 0);
  for (int i = 0; i < 500; ++i) {
    const CameraModel camera = random_fisheye(rng);
    const Eigen::Vector2d q_px = project(camera, wide_point(rng));
    EXPECT_LT((project(camera, {ray(camera, q_px) * 120.0}) - q_px).norm(), 1e-9) << i;
  }
}

// Central differences; near the axis too, where the derivative is a series.
TEST(FisheyeClosedForm, DerivativesAreTheDifferences) {
  std::mt19937_64 rng = test::seeded("FisheyeDerivatives", 0);
  for (int i = 0; i < 60; ++i) {
    const CameraModel camera = random_fisheye(rng);
    Point<Camera> p = wide_point(rng);
    if (i % 3 == 0) p.mm.head<2>() *= std::pow(10.0, -i / 6.0);
    Eigen::Matrix<double, 2, 3> d_point;
    LensJacobian d_lens;
    project(camera, p, &d_point, &d_lens);
    for (int k = 0; k < 3; ++k) {
      constexpr double kStep_mm = 1e-3;
      const Eigen::Vector3d step = kStep_mm * Eigen::Vector3d::Unit(k);
      const Eigen::Vector2d difference =
          (project(camera, {p.mm + step}) - project(camera, {p.mm - step})) / (2.0 * kStep_mm);
      EXPECT_LT((d_point.col(k) - difference).norm(), 1e-6 * (1.0 + d_point.norm())) << i;
    }
    const int n = parameter_count(camera);
    ASSERT_EQ(d_lens.cols(), n);
    for (int k = 0; k < n; ++k) {
      const double size = k < kCoefficientsAt ? 1.0 : 1e-3;  // linear in every parameter
      const LensVector step = size * LensVector::Unit(n, k);
      const Eigen::Vector2d difference =
          (project(moved_lens(camera, step), p) - project(moved_lens(camera, -step), p)) /
          (2.0 * size);
      EXPECT_LT((d_lens.col(k) - difference).norm(), 1e-8 * (1.0 + d_lens.norm())) << k;
    }
  }
}

TEST(FisheyeClosedForm, ItHasFourCoefficientsWithTheirNames) {
  const CameraModel camera = action_camera({});
  EXPECT_EQ(parameter_count(camera), 8);
  EXPECT_EQ(parameter_name(camera, 3), "cy");
  EXPECT_EQ(parameter_name(camera, 7), "k4");
  const LensMatrix typical = covariance_or_typical(camera);
  ASSERT_EQ(typical.rows(), 8);
  EXPECT_GT(typical.diagonal().minCoeff(), 0.0);
  const LensMatrix any = covariance_of_any_lens(camera);
  for (int k = 0; k < 8; ++k) EXPECT_GT(any(k, k), typical(k, k)) << k;
}

// theta (1 - theta^2 / 3) grows up to theta = 1, where it is 2 / 3: 466.7 px from the centre.
TEST(FisheyeBadInput, APixelBeyondTheFoldHasNoRay) {
  const CameraModel camera = action_camera({-1.0 / 3.0});
  EXPECT_NEAR(ray(camera, {811.0 + 466.0, 588.0}).x(), std::tan(1.0), 0.15);
  EXPECT_THROW(ray(camera, {811.0 + 467.0, 588.0}), Error);
}

// Without coefficients 90 degrees lie pi / 2 focal lengths from the centre: 1099.6 px.
TEST(FisheyeBadInput, APixelAsFarAsNinetyDegreesHasNoRay) {
  const CameraModel camera = action_camera({});
  EXPECT_GT(ray(camera, {811.0 + 1099.0, 588.0}).x(), 1000.0);
  EXPECT_THROW(ray(camera, {811.0 + 1100.0, 588.0}), Error);
}

TEST(LensModelsClosedForm, AreFoundByTheirNamesAndFitTheirVectors) {
  EXPECT_EQ(find_lens_model("no such lens"), nullptr);
  for (const LensModel* model : lens_models()) {
    EXPECT_EQ(find_lens_model(model->name()), model);
    const Lens lens(*model);
    EXPECT_EQ(static_cast<std::size_t>(lens.size()), model->coefficients().size());
    EXPECT_LE(lens.size(), kMostLensCoefficients);
    const Eigen::Vector2d there(0.3, -0.2);
    const Eigen::Vector2d bent = model->bend(lens.values(), there);
    EXPECT_EQ(bent.isApprox(there, 1e-12), model->straight_without_coefficients());
  }
  EXPECT_EQ(Lens().model().name(), "pinhole");
}

}  // namespace
}  // namespace evenbevel
