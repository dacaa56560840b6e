#include <cmath>
#include <vector>

#include <gtest/gtest.h>

#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

TEST(YorkClosedForm, ExactPointsComeBack) {
  std::vector<YorkPoint> points;
  points.reserve(8);
  for (int i = 0; i < 8; ++i) {
    points.push_back({.x = 1.0 * i, .y = 2.0 - 0.5 * i, .u_x = 0.1 + 0.01 * i, .u_y = 0.2});
  }
  const YorkLine line = fit_line_york(points);
  EXPECT_NEAR(line.slope, -0.5, 1e-12);
  EXPECT_NEAR(line.intercept, 2.0, 1e-12);
  EXPECT_NEAR(line.chi2, 0.0, 1e-20);
}

TEST(YorkClosedForm, OneUncertaintyMayBeZero) {
  // y on x and x on y by hand: Sxy / Sxx = 3 / 2 and Syy / Sxy = 6 / 3.
  const auto slope = [](double u_x, double u_y) {
    return fit_line_york(std::vector<YorkPoint>{{.x = -1, .y = -2, .u_x = u_x, .u_y = u_y},
                                                {.x = 0, .y = 1, .u_x = u_x, .u_y = u_y},
                                                {.x = 1, .y = 1, .u_x = u_x, .u_y = u_y}})
        .slope;
  };
  EXPECT_NEAR(slope(0.0, 0.3), 1.5, 1e-12);
  EXPECT_NEAR(slope(0.3, 0.0), 2.0, 1e-12);
}

TEST(YorkProperty, StatedUncertaintyIsTheSpreadOverScenes) {
  constexpr int kScenes = 2000;
  double sum_slope2 = 0.0, sum_at2 = 0.0, sum_chi2 = 0.0;
  for (int scene = 0; scene < kScenes; ++scene) {
    std::mt19937_64 rng = test::seeded("YorkProperty", scene);
    const double slope = test::uniform(rng, -2.0, 2.0);
    std::vector<YorkPoint> points;
    for (int i = 0; i < 20; ++i) {
      const double u_x = test::uniform(rng, 0.05, 0.3), u_y = test::uniform(rng, 0.05, 0.3);
      const double r = 0.5, a = test::normal(rng), b = test::normal(rng);
      const double error_y = u_y * (r * a + std::sqrt(1.0 - r * r) * b);
      points.push_back({i + u_x * a, 3.0 + slope * i + error_y, u_x, u_y, r});
    }
    const YorkLine line = fit_line_york(points);
    const Eigen::Vector2d lever(1.0, 4.0);  // the line's height at x = 4
    sum_slope2 += std::pow(line.slope - slope, 2) / line.covariance(1, 1);
    sum_at2 += std::pow(line.intercept - 3.0 + 4.0 * (line.slope - slope), 2) /
               lever.dot(line.covariance * lever);
    sum_chi2 += line.chi2;
  }
  EXPECT_NEAR(std::sqrt(sum_slope2 / kScenes), 1.0, 0.05);  // 3 / sqrt(2 kScenes)
  EXPECT_NEAR(std::sqrt(sum_at2 / kScenes), 1.0, 0.05);
  EXPECT_NEAR(sum_chi2 / kScenes, 18.0, 3.0 * 6.0 / std::sqrt(kScenes));  // sqrt(2 dof) = 6
}

TEST(YorkBadInput, TooFewPointsOrNoSpreadAreNoLine) {
  EXPECT_THROW(fit_line_york(std::vector<YorkPoint>{{0, 0, 1, 1}, {1, 1, 1, 1}}), Error);
  EXPECT_THROW(fit_line_york(std::vector<YorkPoint>(5, {2, 3, 1, 1})), Error);
  EXPECT_THROW(fit_line_york({}), Error);
}

}  // namespace
}  // namespace evenbevel
