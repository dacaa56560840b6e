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

/// Points every `step` along a line through `through`, moved across it by `across`(index).
template <class Across>
Points along(const Eigen::Vector2d& through, double direction_rad, int count, double step,
             Across across) {
  const Eigen::Vector2d direction(std::cos(direction_rad), std::sin(direction_rad));
  const Eigen::Vector2d normal(-direction.y(), direction.x());
  Points points;
  for (int i = 0; i < count; ++i) {
    points.emplace_back(through + (i - 0.5 * (count - 1)) * step * direction + across(i) * normal);
  }
  return points;
}

Points exact_line(double direction_rad) {
  return along({100.0, -20.0}, direction_rad, 21, 3.0, [](int) { return 0.0; });
}

TEST(LineClosedForm, ExactPointsComeBackInEveryDirection) {
  for (int degree = -89; degree <= 90; degree += 1) {
    const double direction_rad = radians(degree);
    for (const LineFit& line :
         {fit_line(exact_line(direction_rad)), fit_line_robust(exact_line(direction_rad))}) {
      EXPECT_NEAR(line.direction_rad, direction_rad, 1e-10) << degree;
      EXPECT_NEAR(line.distance({100.0, -20.0}), 0.0, 1e-10) << degree;
      EXPECT_NEAR(line.sigma, 0.0, 1e-10);
      EXPECT_EQ(line.used, 21);
    }
  }
}

TEST(LineClosedForm, DistanceIsPositiveOnTheSideOfTheNormal) {
  const LineFit line = fit_line(exact_line(0.0));
  EXPECT_NEAR(line.distance({0.0, -17.0}), 3.0, 1e-10);
  EXPECT_NEAR(line.normal().y(), 1.0, 1e-12);
  EXPECT_NEAR(line.direction().x(), 1.0, 1e-12);
}

// Four points +-1 off the x axis at x = -3 -1 1 3, no slope: squares across 4, along 20.
TEST(LineClosedForm, CovarianceOfFourPoints) {
  const LineFit line = fit_line(Points{{-3, 1}, {-1, -1}, {1, -1}, {3, 1}});
  EXPECT_NEAR(line.direction_rad, 0.0, 1e-12);
  EXPECT_NEAR(line.sigma, std::sqrt(4.0 / 2.0), 1e-12);
  EXPECT_NEAR(line.covariance(0, 0), 2.0 / 4.0, 1e-12);
  EXPECT_NEAR(line.covariance(1, 1), 2.0 / (20.0 - 4.0), 1e-12);
  EXPECT_NEAR(line.u_at({2.0, 5.0}), std::sqrt(0.5 + 4.0 * 0.125), 1e-12);
}

TEST(LineClosedForm, PointsWithUncertaintiesCountByTheirWeight) {
  const Points points{{-3, 1}, {-1, -1}, {1, -1}, {3, 1}};
  const LineFit alike = fit_line(points, std::vector<double>(4, 0.5));
  EXPECT_NEAR(alike.covariance(0, 0), 0.25 / 4.0, 1e-12);
  EXPECT_NEAR(alike.sigma, std::sqrt(4.0 / 0.25 / 2.0), 1e-12);
  // Twice the reading is the same as 1 / sqrt 2 of the uncertainty.
  const LineFit doubled =
      fit_line(Points{{0, 0}, {1, 3}, {1, 3}, {4, 2}}, std::vector<double>(4, 1.0));
  const LineFit weighed =
      fit_line(Points{{0, 0}, {1, 3}, {4, 2}}, std::vector{1.0, std::sqrt(0.5), 1.0});
  EXPECT_NEAR(doubled.direction_rad, weighed.direction_rad, 1e-12);
  EXPECT_NEAR((doubled.centre - weighed.centre).norm(), 0.0, 1e-12);
  EXPECT_NEAR((doubled.covariance - weighed.covariance).norm(), 0.0, 1e-12);
}

TEST(LineClosedForm, FortyPercentWildPointsMoveNothing) {
  const Points points = along({50.0, 50.0}, radians(30.0), 100, 1.0,
                              [](int i) { return i % 5 < 2 ? 20.0 + i : 0.0; });
  const LineFit line = fit_line_robust(points);
  EXPECT_NEAR(line.direction_rad, radians(30.0), 1e-9);
  EXPECT_NEAR(line.distance({50.0, 50.0}), 0.0, 1e-9);
  EXPECT_EQ(line.used, 60);
  EXPECT_EQ(line.weights[0], 0.0);
  EXPECT_NEAR(line.weights[2], 1.0, 1e-3);
}

constexpr int kLineScenes = 2000;

struct Pulls {
  double direction = 0.0, place = 0.0;  ///< Root mean square of error over stated uncertainty.
};

template <class Fit>
Pulls pulls(double wild_share, Fit fit) {
  double sum_direction2 = 0.0, sum_place2 = 0.0;
  for (int scene = 0; scene < kLineScenes; ++scene) {
    std::mt19937_64 rng = test::seeded("LineProperty", scene);
    const double direction_rad = test::uniform(rng, -1.5, 1.5);
    const Eigen::Vector2d through(test::uniform(rng, -500, 500), test::uniform(rng, -500, 500));
    const Points points = along(through, direction_rad, 60, 1.0, [&](int) {
      const bool wild = test::uniform(rng, 0.0, 1.0) < wild_share;
      return wild ? test::uniform(rng, 2.0, 30.0) : 0.2 * test::normal(rng);
    });
    const LineFit line = fit(points);
    const Eigen::Vector2d& end = points.front();
    const Eigen::Vector2d normal(-std::sin(direction_rad), std::cos(direction_rad));
    const Eigen::Vector2d truth = end - normal.dot(end - through) * normal;
    sum_direction2 += std::pow(line.direction_rad - direction_rad, 2) / line.covariance(1, 1);
    sum_place2 += std::pow(line.distance(truth) / line.u_at(truth), 2);
  }
  return {std::sqrt(sum_direction2 / kLineScenes), std::sqrt(sum_place2 / kLineScenes)};
}

TEST(LineProperty, StatedUncertaintyIsTheSpreadOverScenes) {
  const Pulls p = pulls(0.0, [](const Points& points) { return fit_line(points); });
  EXPECT_NEAR(p.direction, 1.02, 0.05);  // 3 / sqrt(2 kLineScenes); t with 58 dof spreads 1.02
  EXPECT_NEAR(p.place, 1.02, 0.05);
}

TEST(LineProperty, GivenUncertaintiesAreTheSpreadOverScenes) {
  const Pulls p = pulls(0.0, [](const Points& points) {
    return fit_line(points, std::vector<double>(points.size(), 0.2));
  });
  EXPECT_NEAR(p.direction, 1.0, 0.05);
  EXPECT_NEAR(p.place, 1.0, 0.05);
}

TEST(LineProperty, RobustUncertaintyIsTheSpreadOverScenes) {
  const auto fit = [](const Points& points) { return fit_line_robust(points); };
  const Pulls clean = pulls(0.0, fit);
  EXPECT_NEAR(clean.direction, 1.03, 0.06);
  EXPECT_NEAR(clean.place, 1.03, 0.06);
  const Pulls wild = pulls(0.25, fit);  // a rough edge on one side of the line
  EXPECT_NEAR(wild.direction, 1.04, 0.08);
  EXPECT_NEAR(wild.place, 1.04, 0.08);
}

TEST(LineBadInput, TwoPointsAreTooFew) {
  EXPECT_THROW(fit_line(Points{{0, 0}, {1, 1}}), Error);
  EXPECT_THROW(fit_line_robust(Points{{0, 0}, {1, 1}}), Error);
  EXPECT_THROW(fit_line(Points{}), Error);
}

TEST(LineBadInput, PointsInOnePlaceAreNoLine) {
  EXPECT_THROW(fit_line(Points(10, {3, 4})), Error);
  EXPECT_THROW(fit_line_robust(Points(10, {3, 4})), Error);
}

TEST(LineBadInput, MostPointsInOnePlaceGiveFiniteNumbers) {
  Points points(20, {3, 4});
  points.emplace_back(10.0, 11.0);
  points.emplace_back(-5.0, 3.0);
  for (const LineFit& line : {fit_line(points), fit_line_robust(points)}) {
    EXPECT_TRUE(line.centre.allFinite());
    EXPECT_TRUE(line.covariance.allFinite());
    EXPECT_TRUE(std::isfinite(line.direction_rad));
  }
}

}  // namespace
}  // namespace evenbevel
