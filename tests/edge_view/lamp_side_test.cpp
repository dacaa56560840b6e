// From which side the light comes, and how far a groove shows beside its middle for that.

#include "edge_view/lamp_side.hpp"

#include <cmath>

#include <gtest/gtest.h>

#include "cross_profile.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

/// A blade 3.2 mm wide with even light beside it on either side.
CrossProfile lit_blade(double low_light, double high_light) {
  CrossProfile profile;
  profile.breadth_px = 180.0;
  profile.background = low_light;
  profile.borders = {{-1.6, 0.4 - low_light}, {1.6, high_light - 0.4}};
  return profile;
}

double side_of(const CrossProfile& profile, int seed = 0) {
  const double end = profile.half_length_mm() - 1.0;
  const edge::FlatsPair flats{.high = {1.6, profile.slope},
                              .low = {-1.6, profile.slope},
                              .seen = {},
                              .s_begin_mm = -end,
                              .s_end_mm = end};
  std::mt19937_64 rng = seeded("LampSide", seed);
  return edge::lamp_side(profile.grey(rng), profile.frame(), flats, CrossProfile::kPxPerMm);
}

TEST(LampSideClosedForm, ItIsTheDifferenceOverTheSum) {
  EXPECT_NEAR(side_of(lit_blade(0.2, 0.2)), 0.0, 1e-6);
  EXPECT_NEAR(side_of(lit_blade(0.1, 0.3)), 0.5, 1e-5);
  EXPECT_NEAR(side_of(lit_blade(0.0, 0.3)), 1.0, 1e-5);
  EXPECT_NEAR(side_of(lit_blade(0.3, 0.0)), -1.0, 1e-5);
}

// Whatever the exposure; the other way about when the picture is turned over.
TEST(LampSideProperty, OnlyTheRatioOfBothSidesCounts) {
  for (int number = 0; number < 6; ++number) {
    std::mt19937_64 rng = seeded("LampSideRatio", number);
    const double low = uniform(rng, 0.02, 0.4), high = uniform(rng, 0.02, 0.4);
    const double exposure = uniform(rng, 0.3, 2.0);
    const double side = side_of(lit_blade(low, high));
    EXPECT_NEAR(side_of(lit_blade(exposure * low, exposure * high)), side, 1e-5);
    EXPECT_NEAR(side_of(lit_blade(high, low)), -side, 1e-5);
  }
}

// A dark gap between blade and jaw takes up to half of what is looked at, on one side alone.
TEST(LampSideProperty, ADarkGapBesideTheBladeIsNoShadow) {
  CrossProfile profile = lit_blade(0.2, 0.2);
  profile.borders.back() = {1.6, 0.01 - 0.4};
  profile.borders.push_back({3.4, 0.19});
  EXPECT_NEAR(side_of(profile), 0.0, 0.02);
}

TEST(LampSideProperty, NoiseAndASlantHardlyMoveIt) {
  for (int number = 0; number < 4; ++number) {
    CrossProfile profile = lit_blade(0.12, 0.28);
    profile.noise = 0.01, profile.slope = number % 2 == 0 ? 0.006 : -0.006;
    EXPECT_NEAR(side_of(profile, number), 0.4, 0.05);
  }
}

/// Where a groove shows, from its middle: the centroid of what its two walls give, each turned to
/// one side and lit from there.
double shown_mm(double lamp_side) {
  const double low_wall = 0.5 * (1.0 + lamp_side);  // Faces high.
  const double high_wall = 0.5 * (1.0 - lamp_side);
  return 0.25 * edge::kGrooveMm * (high_wall - low_wall);
}

TEST(GrooveShiftClosedForm, ItLeadsFromWhereTheWallsShowToTheMiddle) {
  for (const double lamp : {-1.0, -0.3, 0.0, 0.5, 1.0})
    EXPECT_NEAR(shown_mm(lamp) + edge::groove_shift_mm(lamp), 0.0, 1e-12);
}

// Walls mirror as they like: what is not known is never more than what may be, a quarter of the
// width, grows with the lamp's side, and holds a wall that shines half as much as thought.
TEST(GrooveShiftProperty, ItsUncertaintyHoldsWallsThatShineOtherwise) {
  const double most = 0.25 * edge::kGrooveMm;
  for (const double lamp : {0.0, 0.25, 0.5, 0.75, 1.0}) {
    const double u = edge::groove_u_mm(lamp);
    EXPECT_DOUBLE_EQ(u, edge::groove_u_mm(-lamp));
    EXPECT_LT(u, most);
    EXPECT_GT(edge::groove_u_mm(lamp + 0.25), u);
    EXPECT_LT(0.5 * std::abs(edge::groove_shift_mm(lamp)), u);
  }
}

}  // namespace
}  // namespace evenbevel::test
