#include <cmath>

#include <Eigen/Geometry>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/error.hpp"
#include "evenbevel/plan.hpp"
#include "seeded.hpp"
#include "true_blade.hpp"

namespace evenbevel {
namespace {

using enum PlanQuantity;
using test::true_blade;
using test::TrueBlade;

constexpr double kSumExact = 1e-9;  // mm or rad

PlanRequest everything(const TrueBlade& blade) {
  PlanRequest request;
  request.given = blade;
  return request;
}

/// Thickness at a height above the edge, between the points that the section is made of.
double thickness_mm(const TrueBlade& blade, double z_mm, bool sharpened) {
  const double h = blade.at(bevel_height), s = blade.at(sharpened_height);
  if (sharpened && z_mm < s) return blade.at(shoulder_thickness) * z_mm / s;
  if (z_mm > h) return blade.at(stock);
  return blade.at(land) + (blade.at(stock) - blade.at(land)) * z_mm / h;
}

TEST(PlanSumsProperty, ThicknessBehindTheEdgeIsTheSections) {
  for (int i = 0; i < 500; ++i) {
    std::mt19937_64 rng = test::seeded("PlanBehindEdge", i);
    const TrueBlade blade = true_blade(rng);
    const Plan plan = make_plan(everything(blade));
    const double height = blade.at(blade_height);
    EXPECT_EQ(plan.behind_edge.size(), height >= 10.0 ? 3U : height >= 5.0 ? 2U : 1U) << i;
    for (const BehindEdge& row : plan.behind_edge) {
      EXPECT_NEAR(row.ground_mm, thickness_mm(blade, row.depth_mm, false), kSumExact) << i;
      EXPECT_NEAR(*row.sharpened_mm, thickness_mm(blade, row.depth_mm, true), kSumExact) << i;
    }
  }
}

// A thou off the bevel, square to it, brings the face nearer: at the edge the land loses
// 2 d / cos(angle), and the same angle then reaches higher.
TEST(PlanSumsProperty, TheBevelLineMovesAsTheShiftSays) {
  for (int i = 0; i < 500; ++i) {
    std::mt19937_64 rng = test::seeded("PlanBevelLine", i);
    const TrueBlade blade = true_blade(rng);
    const Plan plan = make_plan(everything(blade));
    const double off_mm = 0.001, angle = blade.at(bevel_angle);
    const auto height_mm = [&](double stock_mm, double land_mm) {
      return solve_plan({{stock, stock_mm}, {land, land_mm}, {bevel_angle, angle}})
          .at(bevel_height)
          .value;
    };
    const double before = blade.at(bevel_height);
    const double after =
        height_mm(blade.at(stock), blade.at(land) - 2.0 * off_mm / std::cos(angle));
    EXPECT_NEAR((after - before) / off_mm, plan.bevel_line->off_bevel, 1e-6);
    const double thinner = height_mm(blade.at(stock) - 2.0 * off_mm, blade.at(land));
    EXPECT_NEAR((before - thinner) / off_mm, plan.bevel_line->off_flat, 1e-6);
  }
}

// The blade turned about its apex until it stands at the sharpening angle to the stone.
TEST(PlanSumsProperty, TheSpineLiftIsTheCornersHeight) {
  for (int i = 0; i < 500; ++i) {
    std::mt19937_64 rng = test::seeded("PlanSpineLift", i);
    const TrueBlade blade = true_blade(rng);
    const Eigen::Vector2d corner(blade.at(blade_height), -blade.at(stock) / 2.0);
    const Eigen::Vector2d turned = Eigen::Rotation2Dd(blade.at(sharpening_angle)) * corner;
    EXPECT_NEAR(*make_plan(everything(blade)).spine_lift_mm, turned.y(), kSumExact);
  }
}

TEST(PlanSumsProperty, StationsAreSetUpsOfTheirOwn) {
  for (int i = 0; i < 100; ++i) {
    std::mt19937_64 rng = test::seeded("PlanStations", i);
    const TrueBlade blade = true_blade(rng);
    const Plan plan = make_plan(everything(blade));
    ASSERT_GE(plan.stations.size(), 2U);
    EXPECT_EQ(plan.stations.front().x_mm, 0.0);
    EXPECT_NEAR(plan.stations.front().thickness_mm, blade.at(stock), kSumExact);
    EXPECT_NEAR(plan.stations.back().x_mm, blade.at(length), kSumExact);
    EXPECT_NEAR(plan.stations.back().thickness_mm, blade.at(tip_thickness), kSumExact);
    for (const PlanStation& at : plan.stations) {
      EXPECT_NEAR(at.thickness_mm + 2.0 * at.off_face_mm, blade.at(stock), kSumExact);
      EXPECT_NEAR(std::atan2(at.off_face_mm, at.x_mm), at.x_mm > 0.0 ? blade.at(taper_angle) : 0.0,
                  kSumExact);
      const std::map<PlanQuantity, double> here{{stock, at.thickness_mm}, {land, blade.at(land)}};
      auto angle_kept = here, height_kept = here;
      angle_kept[bevel_angle] = blade.at(bevel_angle);
      height_kept[bevel_height] = blade.at(bevel_height);
      EXPECT_NEAR(solve_plan(angle_kept).at(bevel_height).value, *at.bevel_height_mm, kSumExact);
      EXPECT_NEAR(solve_plan(height_kept).at(bevel_angle).value, *at.bevel_angle_rad, kSumExact);
    }
  }
}

// At 45 degrees the edge facets run up as far as they go in.
TEST(PlanSumsClosedForm, FacetsAtFortyFive) {
  const Plan plan = make_plan({.given = {{stock, 3.302}, {land, 0.3048}}});
  EXPECT_NEAR(plan.facet->height_mm, 1.4986, kSumExact);
  EXPECT_NEAR(plan.facet->width_mm, 1.4986 * std::sqrt(2.0), kSumExact);
  EXPECT_NEAR(*plan.far_line_mm, 1.8034, kSumExact);
  EXPECT_NEAR(*plan.far_line_mm - *plan.at(scribe_height), 0.3048, kSumExact);
}

TEST(PlanSumsClosedForm, RestAnglesAreTheBlades) {
  const Plan plan = make_plan(
      {.given = {{stock, 3.0}, {land, 0.3}, {bevel_angle, radians(30.0)}, {rest_length, 100.0}}});
  ASSERT_EQ(plan.rests.size(), 2U);
  EXPECT_NEAR(*plan.rests[0].shim_mm, 100.0 * std::sqrt(0.5), kSumExact);  // edge facets, 45 deg
  EXPECT_NEAR(*plan.rests[1].shim_mm, 50.0, kSumExact);                    // sin 30 deg = 1 / 2
  EXPECT_NEAR(plan.rests[1].from_square_rad, radians(60.0), kSumExact);
}

TEST(PlanSumsBadInput, NothingToGoByIsSaidWithWhatIsMissing) {
  for (const PlanRequest& request : {PlanRequest{}, PlanRequest{.given = {{stock, 3.302}}}}) {
    try {
      make_plan(request);
      FAIL();
    } catch (const Error& error) {
      EXPECT_THAT(error.what(), testing::HasSubstr("nothing"));
      EXPECT_THAT(error.do_next(), testing::HasSubstr("scribe lines: "));
      EXPECT_THAT(error.do_next(), testing::HasSubstr("land"));
    }
  }
}

TEST(PlanSumsBadInput, AMinuteStepDoesNotFillTheMemory) {
  PlanRequest request{.given = {{stock, 3.0}, {tip_thickness, 1.0}, {length, 200.0}}};
  request.station_step_mm = 1e-9;
  EXPECT_LE(make_plan(request).stations.size(), 202U);
}

}  // namespace
}  // namespace evenbevel
