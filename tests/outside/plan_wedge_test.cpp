#include <cmath>

#include <gtest/gtest.h>

#include "evenbevel/plan.hpp"

namespace evenbevel {
namespace {

using enum PlanQuantity;

constexpr double kExact = 1e-9;

double solved(const std::map<PlanQuantity, double>& given, PlanQuantity wanted) {
  return solve_plan(given).at(wanted).value;
}

// Three common bars, worked out in 40-digit decimal arithmetic (mpmath): half angle, included
// angle, length of the ground face.
TEST(PlanWedgeOutside, FortyDigitArithmetic) {
  struct Row {
    double stock_mm, land_mm, height_mm, half_deg, included_deg, face_mm;
  };
  for (const Row& row :
       {Row{3.175, 0.5, 25.4, 3.01426744166236, 6.02853488332472, 25.4351903128323},
        Row{4.0, 0.4, 20.0, 5.14276455788424, 10.2855291157685, 20.0808366359572},
        Row{6.35, 0.76, 19.05, 8.34683587877867, 16.6936717575573, 19.2539482963885}}) {
    const std::map<PlanQuantity, double> by_height{
        {stock, row.stock_mm}, {land, row.land_mm}, {bevel_height, row.height_mm}};
    EXPECT_NEAR(degrees(solved(by_height, bevel_angle)), row.half_deg, kExact);
    EXPECT_NEAR(degrees(solved(by_height, bevel_included)), row.included_deg, kExact);
    EXPECT_NEAR(solved(by_height, bevel_face), row.face_mm, kExact);
    const std::map<PlanQuantity, double> by_angle{
        {stock, row.stock_mm}, {land, row.land_mm}, {bevel_included, radians(row.included_deg)}};
    EXPECT_NEAR(solved(by_angle, bevel_height), row.height_mm, kExact);
  }
}

// Width gained by 1 mm of height, 2 tan(included / 2), the same arithmetic: the thickness 1 mm
// behind an edge without land.
TEST(PlanWedgeOutside, WidthGainedByAMillimetre) {
  struct Row {
    double included_deg, width_mm;
  };
  for (const Row& row :
       {Row{10.0, 0.174977327051848}, Row{15.0, 0.263304995174792}, Row{20.0, 0.35265396141693},
        Row{25.0, 0.44338932528588}, Row{30.0, 0.535898384862245}, Row{40.0, 0.727940468532405}}) {
    const Plan plan =
        make_plan({.given = {{land, 0.0}, {bevel_included, radians(row.included_deg)}}});
    ASSERT_EQ(plan.behind_edge.size(), 3U);
    EXPECT_NEAR(plan.behind_edge[0].ground_mm, row.width_mm, kExact);
    EXPECT_NEAR(plan.behind_edge[1].ground_mm, 5.0 * row.width_mm, kExact);
    EXPECT_NEAR(plan.behind_edge[2].ground_mm, 10.0 * row.width_mm, kExact);
  }
}

// Table of sine-bar heights for a 5 in bar (Machinery's Handbook, from memory): the stack under a
// rest of that length.
TEST(PlanWedgeOutside, FiveInchSineBar) {
  struct Row {
    double angle_deg, stack_in;
  };
  for (const Row& row : {Row{10.0, 0.868241}, Row{15.0, 1.294095}, Row{30.0, 2.5}}) {
    const double stack_mm =
        solved({{rest_length, 5.0 * kMmPerInch}, {bevel_angle, radians(row.angle_deg)}}, shim);
    EXPECT_NEAR(stack_mm / kMmPerInch, row.stack_in, 0.6e-6);  // half of the last place printed
    EXPECT_NEAR(degrees(solved({{rest_length, 5.0 * kMmPerInch}, {shim, stack_mm}}, bevel_angle)),
                row.angle_deg, kExact);
  }
}

// The Jarno taper, 0.600 in a foot on the diameter, has an included angle of 2.86419 degrees
// (Machinery's Handbook, from memory).
TEST(PlanWedgeOutside, JarnoTaper) {
  const double side_rad =
      solved({{taper, 0.6 * kMmPerInch}, {length, 12.0 * kMmPerInch}}, taper_angle);
  EXPECT_NEAR(degrees(2.0 * side_rad), 2.86419, 0.6e-5);
}

}  // namespace
}  // namespace evenbevel
