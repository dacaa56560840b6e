#include <cmath>
#include <vector>

#include <gtest/gtest.h>

#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

using Points = std::vector<Eigen::Vector2d>;

template <class Outward>
Points arc(const Eigen::Vector2d& centre, double radius, double from_rad, double to_rad, int count,
           Outward outward) {
  Points points;
  for (int i = 0; i < count; ++i) {
    const double angle = from_rad + (to_rad - from_rad) * i / (count - 1);
    points.emplace_back(centre +
                        (radius + outward(i)) * Eigen::Vector2d(std::cos(angle), std::sin(angle)));
  }
  return points;
}

TEST(CircleClosedForm, ExactArcsComeBack) {
  for (const double sweep : {0.2, 1.0, 3.0, 2.0 * kPi}) {
    const Points points = arc({4000.0, -30.0}, 12.5, 0.4, 0.4 + sweep, 30, [](int) { return 0.0; });
    for (const CircleFit& circle : {fit_circle(points), fit_circle_robust(points)}) {
      // Coordinates of 4000 keep 1e-12; a sweep of 0.2 rad multiplies that by (2 / 0.2)^4.
      EXPECT_NEAR(circle.radius, 12.5, 1e-7) << sweep;
      EXPECT_NEAR(circle.centre.x(), 4000.0, 1e-7) << sweep;
      EXPECT_NEAR(circle.centre.y(), -30.0, 1e-7) << sweep;
      EXPECT_EQ(circle.used, 30);
    }
  }
}

// Full circle of n even points with scatter s: u(centre) = s sqrt(2 / n), u(radius) = s sqrt(1 /
// n).
TEST(CircleClosedForm, CovarianceOfAFullCircle) {
  const Points points = arc({0, 0}, 10.0, 0.0, 2.0 * kPi * 39.0 / 40.0, 40,
                            [](int i) { return i % 2 == 0 ? 0.01 : -0.01; });
  const CircleFit circle = fit_circle(points);
  const double variance = 40.0 * 1e-4 / 37.0;
  EXPECT_NEAR(circle.sigma * circle.sigma, variance, 1e-9);
  EXPECT_NEAR(circle.covariance(0, 0), variance * 2.0 / 40.0, 1e-9);
  EXPECT_NEAR(circle.covariance(1, 1), variance * 2.0 / 40.0, 1e-9);
  EXPECT_NEAR(circle.covariance(2, 2), variance / 40.0, 1e-9);
  EXPECT_NEAR(circle.covariance(0, 2), 0.0, 1e-9);
}

TEST(CircleClosedForm, ThirtyPercentWildPointsMoveNothing) {
  const Points points =
      arc({5, 5}, 8.0, 0.0, 1.5, 100, [](int i) { return i % 10 < 3 ? 2.0 + 0.1 * i : 0.0; });
  const CircleFit circle = fit_circle_robust(points);
  EXPECT_NEAR(circle.radius, 8.0, 1e-8);
  EXPECT_EQ(circle.used, 70);
}

template <class Fit>
double radius_pull(double wild_share, Fit fit) {
  constexpr int kScenes = 1000;
  double sum_z2 = 0.0;
  for (int scene = 0; scene < kScenes; ++scene) {
    std::mt19937_64 rng = test::seeded("CircleProperty", scene);
    const double radius = test::uniform(rng, 3.0, 30.0), from_rad = test::uniform(rng, 0.0, 6.0);
    const Points points =
        arc({test::uniform(rng, -9, 9), 4.0}, radius, from_rad, from_rad + 1.5, 80, [&](int) {
          const bool wild = test::uniform(rng, 0.0, 1.0) < wild_share;
          return wild ? test::uniform(rng, -1.0, 1.0) : 0.01 * test::normal(rng);
        });
    const CircleFit circle = fit(points);
    sum_z2 += std::pow(circle.radius - radius, 2) / circle.covariance(2, 2);
  }
  return std::sqrt(sum_z2 / kScenes);
}

TEST(CircleProperty, StatedUncertaintyIsTheSpreadOverScenes) {
  EXPECT_NEAR(radius_pull(0.0, [](const Points& p) { return fit_circle(p); }), 1.01,
              0.07);  // 3 / sqrt(2 x 1000)
}

TEST(CircleProperty, RobustUncertaintyIsTheSpreadOverScenes) {
  EXPECT_NEAR(radius_pull(0.15, [](const Points& p) { return fit_circle_robust(p); }), 1.03, 0.09);
}

TEST(CircleBadInput, PointsOnALineAreNoCircle) {
  Points points;
  for (int i = 0; i < 10; ++i) points.emplace_back(i, 2.0 * i + 1.0);
  EXPECT_THROW(fit_circle(points), Error);
  EXPECT_THROW(fit_circle_robust(points), Error);
  EXPECT_THROW(fit_circle(Points(6, {1, 1})), Error);
}

TEST(CircleBadInput, ThreePointsAreTooFew) {
  EXPECT_THROW(fit_circle(Points{{0, 0}, {1, 0}, {0, 1}}), Error);
  EXPECT_THROW(fit_circle_robust(Points{}), Error);
}

}  // namespace
}  // namespace evenbevel
