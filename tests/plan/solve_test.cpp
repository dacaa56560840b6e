#include <cmath>
#include <string>

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
using testing::HasSubstr;

constexpr double kExact = 1e-9;  // mm or rad

double solved(const std::map<PlanQuantity, double>& given, PlanQuantity wanted) {
  const PlanValues values = solve_plan(given);
  const auto found = values.find(wanted);
  return found == values.end() ? std::nan("") : found->second.value;
}

// The triangle of sides 3, 4 and 5.
TEST(PlanSolveClosedForm, ThreeFourFive) {
  const std::map<PlanQuantity, double> by_sides{{stock, 7.0}, {land, 1.0}, {bevel_height, 4.0}};
  EXPECT_NEAR(solved(by_sides, scribe_height), 3.0, kExact);
  EXPECT_NEAR(solved(by_sides, bevel_face), 5.0, kExact);
  EXPECT_NEAR(std::sin(solved(by_sides, bevel_angle)), 0.6, kExact);
  EXPECT_NEAR(solved({{bevel_face, 5.0}, {bevel_height, 4.0}, {land, 1.0}}, stock), 7.0, kExact);
  EXPECT_NEAR(solved({{bevel_face, 5.0}, {drill, 6.0}, {stock, 7.0}}, bevel_height), 4.0, kExact);
}

// tan 45 deg = 1; tan 15 deg = 2 - sqrt(3): a sharpened bevel on a bevel of 15 deg.
TEST(PlanSolveClosedForm, SharpenedAtFortyFiveOnFifteen) {
  const double slope = 2.0 - std::sqrt(3.0);
  const std::map<PlanQuantity, double> given{
      {land, 1.0}, {bevel_angle, radians(15.0)}, {sharpening_angle, radians(45.0)}};
  const double height = 0.5 / (1.0 - slope);
  EXPECT_NEAR(solved(given, sharpened_height), height, kExact);
  EXPECT_NEAR(solved(given, shoulder_thickness), 2.0 * height, kExact);
  EXPECT_NEAR(solved(given, sharpened_width), height * std::sqrt(2.0), kExact);
}

TEST(PlanSolveClosedForm, AFullFlatGrindHasNoFlat) {
  const PlanValues values =
      solve_plan({{stock, 3.0}, {land, 0.3}, {blade_height, 30.0}, {flat_height, 0.0}});
  EXPECT_NEAR(values.at(bevel_height).value, 30.0, kExact);
  EXPECT_THAT(values.at(bevel_angle).from,
              testing::UnorderedElementsAre(stock, land, blade_height, flat_height));
}

TEST(PlanSolveClosedForm, NoLandAtAllLeavesNoSharpenedBevel) {
  const PlanValues values = solve_plan(
      {{stock, 3.0}, {land, 0.0}, {bevel_height, 10.0}, {sharpening_angle, radians(20.0)}});
  EXPECT_EQ(values.at(sharpened_width).value, 0.0);
  EXPECT_EQ(values.at(shoulder_thickness).value, 0.0);
}

// 10,000 blades; of each, some quantities are given, the others come back.
TEST(PlanSolveProperty, WhatFollowsIsTheBladeItself) {
  int worked_out = 0;
  for (int blade_number = 0; blade_number < 10000; ++blade_number) {
    std::mt19937_64 rng = test::seeded("PlanSolveProperty", blade_number);
    const TrueBlade blade = true_blade(rng);
    const auto given = test::some_of(blade, test::uniform(rng, 0.1, 0.6), rng);
    const PlanValues values = solve_plan(given);
    for (const auto& [quantity, value] : values) {
      ASSERT_NEAR(value.value, blade.at(quantity), kExact)
          << name(quantity) << " of blade " << blade_number;
      worked_out += value.given ? 0 : 1;
    }
  }
  EXPECT_GT(worked_out, 50000);
}

// The quantities that a maker starts from settle all the others.
TEST(PlanSolveProperty, TheUsualStartSettlesEverything) {
  for (int i = 0; i < 200; ++i) {
    std::mt19937_64 rng = test::seeded("PlanUsualStart", i);
    const TrueBlade blade = true_blade(rng);
    std::map<PlanQuantity, double> given;
    for (const PlanQuantity quantity : {stock, land, bevel_height, blade_height, sharpening_angle,
                                        length, tip_thickness, rest_length}) {
      given[quantity] = blade.at(quantity);
    }
    EXPECT_EQ(solve_plan(given).size(), blade.size());
  }
}

// All are given and agree; then one of them is a tenth too large.
TEST(PlanSolveProperty, OneWrongValueAmongManyIsRefusedByName) {
  int blades = 0;
  for (int i = 0; i < 80; ++i) {
    std::mt19937_64 rng = test::seeded("PlanWrongValue", i);
    const TrueBlade blade = true_blade(rng);
    ASSERT_NO_THROW(solve_plan(blade));
    if (blade.at(taper_angle) < radians(0.2)) continue;  // a tenth of that is still agreement
    ++blades;
    for (const auto& [wrong, value] : blade) {
      std::map<PlanQuantity, double> given = blade;
      given[wrong] = 1.1 * value + 0.03;
      try {
        solve_plan(given);
        ADD_FAILURE() << name(wrong) << " of blade " << i;
      } catch (const Error& error) {
        EXPECT_THAT(error.what(), HasSubstr(std::string(label(wrong)))) << "blade " << i;
      }
    }
  }
  EXPECT_GT(blades, 40);
}

// Whatever is said to be missing is enough, and every set of it.
TEST(PlanGapsProperty, WhatIsAskedForSettlesIt) {
  int asked = 0;
  for (int i = 0; i < 300; ++i) {
    std::mt19937_64 rng = test::seeded("PlanGapsProperty", i);
    const TrueBlade blade = true_blade(rng);
    const auto given = test::some_of(blade, 0.15, rng);
    for (const PlanGap& gap : plan_gaps(solve_plan(given))) {
      ASSERT_FALSE(gap.give.empty());
      for (const std::vector<PlanQuantity>& set : gap.give) {
        auto more = given;
        for (const PlanQuantity quantity : set) more[quantity] = blade.at(quantity);
        for (const PlanGap& left : plan_gaps(solve_plan(more))) EXPECT_NE(left.what, gap.what);
        ++asked;
      }
    }
  }
  EXPECT_GT(asked, 1000);
}

struct Refusal {
  std::map<PlanQuantity, double> given;
  std::vector<std::string> said;
};

TEST(PlanSolveBadInput, ContradictionsAreNamedWithBothNumbers) {
  const std::vector<Refusal> refusals{
      {{{stock, 4.0}, {land, 0.4}, {bevel_height, 20.0}, {bevel_angle, radians(6.0)}},
       {"bevel angle per side 6.00 deg was given", "stock 4.000 mm", "land 0.400 mm",
        "bevel height 20.000 mm", "5.14 deg"}},
      {{{stock, 4.0}, {land, 0.4}, {drill, 3.0}}, {"3.000 mm", "3.600 mm"}},
      {{{blade_height, 30.0}, {bevel_height, 20.0}, {flat_height, 12.0}}, {"30.000", "32.000"}},
      {{{bevel_angle, radians(5.0)}, {bevel_included, radians(12.0)}}, {"12.00", "10.00"}},
      // two ways to the bevel height, neither of them given
      {{{stock, 4.0},
        {land, 0.4},
        {bevel_angle, radians(5.0)},
        {blade_height, 40.0},
        {flat_height, 10.0}},
       {"5.00 deg", "3.43 deg"}}};
  for (const Refusal& refusal : refusals) {
    try {
      solve_plan(refusal.given);
      ADD_FAILURE() << refusal.said.front();
    } catch (const Error& error) {
      for (const std::string& said : refusal.said) EXPECT_THAT(error.what(), HasSubstr(said));
      EXPECT_FALSE(error.do_next().empty());
    }
  }
}

TEST(PlanSolveBadInput, WhatCannotBeIsRefused) {
  const std::vector<Refusal> refusals{
      {{{stock, 0.0}}, {"stock"}},
      {{{stock, -1.0}}, {"stock"}},
      {{{bevel_angle, radians(90.0)}}, {"bevel angle", "90.00 deg"}},
      {{{stock, 2.0}, {land, 2.0}}, {"land 2.000 mm", "stock 2.000 mm"}},
      {{{stock, 2.0}, {tip_thickness, 3.0}}, {"tip 3.000 mm", "stock 2.000 mm"}},
      {{{stock, 2.0}, {drill, 3.0}}, {"drill 3.000 mm", "stock 2.000 mm"}},
      {{{blade_height, 20.0}, {bevel_height, 25.0}}, {"25.000 mm", "20.000 mm"}},
      {{{bevel_face, 3.0}, {scribe_height, 4.0}}, {"4.000 mm", "3.000 mm"}},
      {{{bevel_angle, radians(12.0)}, {sharpening_angle, radians(10.0)}}, {"12.00", "10.00"}},
      {{{land, 0.5}, {bevel_angle, radians(2.0)}, {sharpened_width, 0.2}},
       {"sharpening angle", "land 0.500 mm"}},
      {{{shim, 30.0}, {rest_length, 20.0}}, {"shim", "30.000", "20.000"}}};
  for (const Refusal& refusal : refusals) {
    try {
      solve_plan(refusal.given);
      ADD_FAILURE() << refusal.said.front();
    } catch (const Error& error) {
      for (const std::string& said : refusal.said) EXPECT_THAT(error.what(), HasSubstr(said));
    }
  }
}

// Values as typed, to the last place that calipers and an angle gauge show.
TEST(PlanSolveBadInput, RoundedValuesThatAgreeAreNotRefused) {
  EXPECT_NO_THROW(solve_plan(
      {{stock, 3.175}, {land, 0.5}, {bevel_height, 25.4}, {bevel_angle, radians(3.01)}}));
  EXPECT_NO_THROW(solve_plan({{stock, 3.3}, {land, 0.25}, {scribe_height, 1.52}}));
}

}  // namespace
}  // namespace evenbevel
