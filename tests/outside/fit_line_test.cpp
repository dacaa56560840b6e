#include <array>
#include <cmath>
#include <vector>

#include <gtest/gtest.h>

#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {
namespace {

// K. Pearson, Philosophical Magazine 2 (1901), 559-572: his ten points.
constexpr std::array<double, 10> kX{0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4};
constexpr std::array<double, 10> kY{5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5};

// D. York, Canadian Journal of Physics 44 (1966), 1079-1086: his weights (1 / variance) for them.
constexpr std::array<double, 10> kWeightX{1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1};
constexpr std::array<double, 10> kWeightY{1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500};

std::vector<Eigen::Vector2d> pearson_points() {
  std::vector<Eigen::Vector2d> points;
  for (std::size_t i = 0; i < kX.size(); ++i) points.emplace_back(kX[i], kY[i]);
  return points;
}

std::vector<YorkPoint> york_points() {
  std::vector<YorkPoint> points;
  for (std::size_t i = 0; i < kX.size(); ++i) {
    points.push_back({.x = kX[i],
                      .y = kY[i],
                      .u_x = 1.0 / std::sqrt(kWeightX[i]),
                      .u_y = 1.0 / std::sqrt(kWeightY[i])});
  }
  return points;
}

TEST(LineOutside, PearsonTenPoints) {
  const LineFit line = fit_line(pearson_points());
  EXPECT_NEAR(std::tan(line.direction_rad), -0.546, 0.0005);  // half of the last digit he printed
  EXPECT_NEAR(line.centre.x(), 3.82, 1e-12);
  EXPECT_NEAR(line.centre.y(), 3.70, 1e-12);
}

// The same by an independent program (principal axis with numpy), to ten digits.
TEST(LineOutside, PearsonTenPointsRecomputed) {
  const LineFit line = fit_line(pearson_points());
  EXPECT_NEAR(std::tan(line.direction_rad), -0.5455611975, 1e-9);
  EXPECT_NEAR(degrees(line.direction_rad), -28.6151690, 1e-6);
  EXPECT_NEAR(line.centre.y() - line.centre.x() * std::tan(line.direction_rad), 5.7840437745, 1e-9);
  EXPECT_NEAR(line.sigma * line.sigma * 8.0, 0.6185727594, 1e-9);
}

// Solution of D. York, N. M. Evensen, M. Lopez Martinez and J. De Basabe Delgado, American Journal
// of Physics 72 (2004), 367-375, and the many programs checked against it.
TEST(LineOutside, YorkWeights) {
  const YorkLine line = fit_line_york(york_points());
  EXPECT_NEAR(line.intercept, 5.47991022403, 1e-8);
  EXPECT_NEAR(line.slope, -0.48053340745, 1e-9);
  EXPECT_NEAR(line.chi2, 11.86635319, 1e-7);
  EXPECT_EQ(line.dof, 8.0);
}

TEST(LineOutside, YorkStandardErrors) {
  const YorkLine line = fit_line_york(york_points());
  EXPECT_NEAR(std::sqrt(line.covariance(0, 0)), 0.2949707, 5e-7);  // the last printed digit
  EXPECT_NEAR(std::sqrt(line.covariance(1, 1)), 0.0579850, 5e-7);
  const double scale = std::sqrt(line.chi2 / line.dof);
  EXPECT_NEAR(scale * std::sqrt(line.covariance(0, 0)), 0.3592465, 5e-7);
  EXPECT_NEAR(scale * std::sqrt(line.covariance(1, 1)), 0.0706203, 5e-7);
}

// Regression of y on x and of x on y, by numpy: the two limits of York's line.
TEST(LineOutside, PearsonPointsWithErrorsInOneCoordinate) {
  std::vector<YorkPoint> points = york_points();
  for (YorkPoint& p : points) p.u_x = 0.0, p.u_y = 1.0;
  EXPECT_NEAR(fit_line_york(points).slope, -0.5395772750, 1e-9);
  EXPECT_NEAR(fit_line_york(points).intercept, 5.7611851904, 1e-9);
  for (YorkPoint& p : points) p.u_x = 1.0, p.u_y = 0.0;
  EXPECT_NEAR(fit_line_york(points).slope, -0.5658889254, 1e-9);
}

}  // namespace
}  // namespace evenbevel
