#include "choil_view/sides.hpp"

#include <cmath>
#include <random>
#include <vector>

#include <gtest/gtest.h>

#include "evenbevel/units.hpp"
#include "seeded.hpp"

namespace evenbevel::choil {
namespace {

/// A side hollowed by a wheel of this radius, its chord at the given angle.
std::vector<SidePoint> hollow_side(double radius_mm, double angle_rad, double length_mm) {
  std::vector<SidePoint> side;
  for (double s = -0.5 * length_mm; s <= 0.5 * length_mm; s += 0.25) {
    const double below = std::sqrt(radius_mm * radius_mm - s * s) -
                         std::sqrt(radius_mm * radius_mm - 0.25 * length_mm * length_mm);
    const double along = s * std::cos(angle_rad) + below * std::sin(angle_rad);
    const double out = s * std::sin(angle_rad) - below * std::cos(angle_rad);
    side.push_back({10.0 + along, 1.0 + out, 0.001});
  }
  return side;
}

std::vector<SidePoint> straight_side(double angle_rad) {
  std::vector<SidePoint> side;
  for (double depth = 0.0; depth <= 26.0; depth += 0.25) {
    side.push_back({depth, 0.25 + depth * std::tan(angle_rad), 0.001});
  }
  return side;
}

TEST(SideFitClosedForm, AnArcGivesItsRadius) {
  for (const double radius : {40.0, 125.0, 1000.0}) {
    const auto fit = fit_side(hollow_side(radius, 0.1, 14.0), 0.0, 30.0);
    ASSERT_TRUE(fit);
    EXPECT_NEAR(1.0 / fit->curvature_per_mm, radius, 1e-4 * radius);
  }
}

TEST(SideFitClosedForm, AStraightSideHasNoCurvature) {
  const auto fit = fit_side(straight_side(0.05), 1.0, 25.0);
  ASSERT_TRUE(fit);
  EXPECT_NEAR(fit->curvature_per_mm, 0.0, 1e-9);
  EXPECT_NEAR(fit->angle_rad, 0.05, 1e-9);
}

// Symmetric flat grind, elementary trigonometry: half angle = atan((T - e) / (2 h)). 1/8 in stock,
// 0.5 mm edge, ground 1 in high: 3.01427 degrees a side.
TEST(SideFitClosedForm, AnEighthInchBladeGroundOneInchHigh) {
  const double half_rad = std::atan((3.175 - 0.5) / (2.0 * 25.4));
  const auto fit = fit_side(straight_side(half_rad), 1.0, 25.0);
  ASSERT_TRUE(fit);
  EXPECT_NEAR(fit->angle_rad * 180.0 / kPi, 3.01427, 5e-6);
}

// Width gained a mm of height, 2 tan(included / 2), elementary: 20 degrees included, 0.352654.
TEST(SideReadingClosedForm, TwentyDegreesIncludedGainAThirdOfAMillimetreAMillimetre) {
  const std::vector<SidePoint> side = straight_side(10.0 * kPi / 180.0);
  const auto upper = read_side(side, 2.0, 1.0), lower = read_side(side, 3.0, 1.0);
  ASSERT_TRUE(upper && lower);
  EXPECT_NEAR(2.0 * (lower->out_mm - upper->out_mm), 0.352654, 1e-6);
}

TEST(SideFitProperty, IntervalOfTheCurvatureHoldsTheTruth) {
  constexpr int kDraws = 400;
  double held = 0.0;
  for (int draw = 0; draw < kDraws; ++draw) {
    std::mt19937_64 rng = test::seeded("SideFitProperty", draw);
    std::vector<SidePoint> side = hollow_side(125.0, 0.08, 16.0);
    for (SidePoint& p : side) p.out_mm += 0.003 * test::normal(rng);
    const auto fit = fit_side(side, 0.0, 30.0);
    ASSERT_TRUE(fit);
    if (std::abs(fit->curvature_per_mm - 1.0 / 125.0) <= 2.0 * fit->u_curvature) held += 1.0;
  }
  EXPECT_GE(held / kDraws, 0.92);  // 0.954 expected, less 3 sqrt(0.954 * 0.046 / 400)
  EXPECT_LE(held / kDraws, 0.998) << "wider than needed";
}

/// Widths of a section: edge, slope and bend at the edge; the first band stands this deep.
std::vector<SidePoint> bent_width(double edge_mm, double slope, double bend_per_mm,
                                  double first_mm) {
  std::vector<SidePoint> width;
  for (double depth = first_mm; depth < 3.0; depth += 0.1) {
    width.push_back({depth, edge_mm + slope * depth + 0.5 * bend_per_mm * depth * depth, 0.002});
  }
  return width;
}

TEST(CarryToEdgeClosedForm, ABentSideEndsWhereItsParabolaDoes) {
  for (const double bend : {-0.05, 0.0, 0.02}) {
    const auto edge = carry_to_edge(bent_width(0.3, 0.12, bend, 0.15), 0.0, {bend, 0.01}, 1.0);
    ASSERT_TRUE(edge);
    EXPECT_NEAR(edge->out_mm, 0.3, 1e-9);
    EXPECT_NEAR(edge->slope, 0.12, 1e-9);
  }
}

TEST(CarryToEdgeProperty, NoiseIsAsStated) {
  constexpr int kDraws = 400;
  constexpr double kNoise_mm = 0.004;
  double held = 0.0;
  for (int draw = 0; draw < kDraws; ++draw) {
    std::mt19937_64 rng = test::seeded("CarryToEdgeProperty", draw);
    std::vector<SidePoint> width = bent_width(0.3, 0.12, 0.01, 0.15);
    for (SidePoint& p : width) p.out_mm += kNoise_mm * test::normal(rng);
    const auto edge = carry_to_edge(width, 0.0, {0.0, 0.01}, 1.0);
    ASSERT_TRUE(edge);
    if (std::abs(edge->out_mm - 0.3) <= 2.0 * edge->u_mm) held += 1.0;
  }
  EXPECT_GE(held / kDraws, 0.93);  // 0.954 expected, less 2.5 sqrt(0.954 * 0.046 / 400)
}

// The blade behind, narrower than the blur, draws the bands next to the edge outward by half a
// pixel at most: that counts less than the rest of them.
TEST(CarryToEdgeProperty, TwoBandsOffCountLess) {
  std::vector<SidePoint> width = bent_width(0.3, 0.12, 0.0, 0.15);
  width[0].out_mm += 0.02;
  width[1].out_mm += 0.02;
  const auto edge = carry_to_edge(width, 0.0, {0.0, 0.01}, 1.0);
  ASSERT_TRUE(edge);
  EXPECT_LT(std::abs(edge->out_mm - 0.3), 0.015);  // 0.025 with the bend unknown
  EXPECT_GT(2.0 * edge->u_mm, std::abs(edge->out_mm - 0.3));
}

TEST(CarryToEdgeBadInput, NothingNearTheEdgeGivesNothing) {
  EXPECT_FALSE(carry_to_edge(bent_width(0.3, 0.12, 0.0, 0.65), 0.0, {}, 1.0));
  std::vector<SidePoint> few = bent_width(0.3, 0.12, 0.0, 0.15);
  few.resize(5);
  EXPECT_FALSE(carry_to_edge(few, 0.0, {}, 1.0));
}

TEST(SideReadingBadInput, BandsToOneSideOnlyAreNotCarriedOver) {
  const std::vector<SidePoint> side = bent_width(0.3, 0.12, 0.0, 0.65);
  EXPECT_FALSE(read_side(side, 0.4, 1.0));
  EXPECT_TRUE(read_side(side, 0.6, 1.0));
}

TEST(SideFitBadInput, FiveBandsAreTooFew) { EXPECT_FALSE(fit_side(straight_side(0.05), 1.0, 2.0)); }

}  // namespace
}  // namespace evenbevel::choil
