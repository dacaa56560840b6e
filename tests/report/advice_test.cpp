#include "evenbevel/advice.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "fixture.hpp"

namespace evenbevel {
namespace {

using test::DrawnBlade;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

std::vector<std::string> advice(const DrawnBlade& blade, std::optional<double> land_mm = {},
                                std::optional<double> tolerance_mm = {}) {
  return edge_advice(test::result_of(blade), land_mm, tolerance_mm, LengthUnit::mm);
}

std::string all(const std::vector<std::string>& sentences) {
  std::string text;
  for (const std::string& sentence : sentences) text += sentence + "\n";
  return text;
}

// A land that stands 0.04 toward the left face was ground too far on the right one: taking w off
// its left border moves its middle w / 2 to the right (elementary).
TEST(AdviceClosedForm, CentringTakesTwiceTheOffsetOffTheFaceItStandsToward) {
  EXPECT_THAT(advice({.stage = Stage::ground, .offset_mm = 0.04, .offset_end_mm = 0.04}).front(),
              AllOf(HasSubstr("take 0.080 mm off the left facet"), HasSubstr("leave the right")));
  EXPECT_THAT(advice({.stage = Stage::ground, .offset_mm = -0.04, .offset_end_mm = -0.04}).front(),
              AllOf(HasSubstr("take 0.080 mm off the right facet"), HasSubstr("leave the left")));
}

// Borders at c +- e/2 = +0.19, -0.11; lines at +-0.10: 0.09 and 0.01 to lose.
TEST(AdviceClosedForm, WithAWantedLandEachFaceHasItsOwnWayToGo) {
  const DrawnBlade blade{.stage = Stage::ground,
                         .width_mm = 0.30,
                         .offset_mm = 0.04,
                         .offset_end_mm = 0.04,
                         .offset_u_mm = 0.001,
                         .width_u_mm = 0.001};
  EXPECT_THAT(advice(blade, 0.20).front(), AllOf(HasSubstr("take 0.090 mm off the left facet"),
                                                 HasSubstr("0.010 mm off the right facet")));
}

// Borders at +0.19 and -0.11, lines at +-0.15: the right one is 0.04 past its line. The widest
// centred land left is 2 x 0.11 = 0.22, by taking 0.19 - 0.11 = 0.08 off the left. At facets of 44
// and 46 degrees, lowering the edge by 0.04 / tan(45 deg) = 0.04 gives the right line back.
TEST(AdviceClosedForm, AFacePastItsLineLeavesTheBestCentreThatTheSteelAllows) {
  const DrawnBlade blade{.stage = Stage::ground,
                         .width_mm = 0.30,
                         .offset_mm = 0.04,
                         .offset_end_mm = 0.04,
                         .offset_u_mm = 0.001,
                         .width_u_mm = 0.001};
  EXPECT_THAT(advice(blade, 0.30).front(),
              AllOf(HasSubstr("right facet is already 0.040 mm past its line"),
                    HasSubstr("a land of 0.220 mm"), HasSubstr("taking 0.080 mm off the left"),
                    HasSubstr("lower the edge by 0.040 mm")));
}

// Borders at +0.25 and +0.05: the right one has crossed the middle.
TEST(AdviceClosedForm, AFaceBeyondTheMiddleCannotBeCentredAtThisHeight) {
  const DrawnBlade blade{
      .stage = Stage::ground, .width_mm = 0.20, .offset_mm = 0.15, .offset_end_mm = 0.15};
  EXPECT_THAT(advice(blade, 0.25).front(), HasSubstr("cannot be centred at this height"));
}

TEST(AdviceClosedForm, ALandUnderTheWantedWidthIsOnlyCentred) {
  const DrawnBlade blade{.stage = Stage::ground,
                         .width_mm = 0.20,
                         .offset_mm = 0.02,
                         .offset_end_mm = 0.02,
                         .offset_u_mm = 0.001,
                         .width_u_mm = 0.001};
  EXPECT_THAT(advice(blade, 0.30).front(), AllOf(HasSubstr("already down to 0.200 mm"),
                                                 HasSubstr("taking 0.040 mm off the left")));
}

TEST(AdviceClosedForm, ScribeLinesAreScribedAgainOrGroundPast) {
  EXPECT_THAT(advice({.stage = Stage::scribed, .offset_mm = 0.04, .offset_end_mm = 0.04}).front(),
              AllOf(HasSubstr("0.040 mm toward the left face"), HasSubstr("scribe again"),
                    HasSubstr("0.040 mm past the left line"),
                    HasSubstr("0.040 mm short of the right line")));
}

TEST(AdviceClosedForm, CentredLinesAreGroundTo) {
  EXPECT_THAT(
      advice({.stage = Stage::scribed, .offset_mm = 0.01, .offset_end_mm = 0.01}, {}, 0.05).front(),
      AllOf(HasSubstr("grind to the lines"), HasSubstr("0.050 mm")));
}

TEST(AdviceClosedForm, BevelsAreCalledBevels) {
  const auto sentences =
      advice({.stage = Stage::bevelled, .offset_mm = 0.09, .offset_end_mm = 0.09});
  EXPECT_THAT(sentences.front(), HasSubstr("off the left bevel"));
  EXPECT_THAT(all(sentences), Not(HasSubstr("facet")));
}

// The offset runs from +0.08 to -0.08 over 60 mm and changes side in the middle; what is not
// resolved there is shorter than a belt can grind, and joins a neighbour.
TEST(AdviceClosedForm, ZonesFollowTheOffsetAlongTheBlade) {
  const auto sentences =
      advice({.stage = Stage::ground, .offset_mm = 0.08, .offset_end_mm = -0.08, .unseen = {}});
  const std::string text = all(sentences);
  EXPECT_THAT(text, HasSubstr("From x = 0 to 3"));
  EXPECT_THAT(text, HasSubstr("off the left facet"));
  EXPECT_THAT(text, HasSubstr("0.160 mm (most at x = 60 mm)"));
  EXPECT_THAT(text, HasSubstr("off the right facet"));
  EXPECT_THAT(text, Not(HasSubstr("whole blade")));
}

TEST(AdviceClosedForm, TheWorstZoneComesFirst) {
  EXPECT_THAT(
      advice({.stage = Stage::ground, .offset_mm = 0.03, .offset_end_mm = -0.12, .unseen = {}})
          .front(),
      HasSubstr("off the right facet"));
}

TEST(AdviceClosedForm, AmountsThatChangeAlongAZoneAreARange) {
  EXPECT_THAT(advice({.stage = Stage::ground, .offset_mm = 0.03, .offset_end_mm = 0.09}).front(),
              AllOf(HasSubstr("0.060 to 0.180 mm"), HasSubstr("most at x = 60 mm")));
}

TEST(AdviceClosedForm, WhatTheIntervalsDoNotSupportIsNotSaid) {
  const DrawnBlade blade{
      .stage = Stage::ground, .offset_mm = 0.03, .offset_end_mm = 0.03, .offset_u_mm = 0.02};
  EXPECT_THAT(advice(blade).front(),
              AllOf(HasSubstr("smaller than it resolves"), HasSubstr("U95")));
  EXPECT_THAT(all(advice(blade)), Not(HasSubstr("off the left")));
}

TEST(AdviceClosedForm, WithinToleranceNothingIsGround) {
  const DrawnBlade blade{.stage = Stage::ground, .offset_mm = 0.03, .offset_end_mm = 0.03};
  EXPECT_THAT(advice(blade, {}, 0.05).front(), AllOf(HasSubstr("leave it"), HasSubstr("0.050 mm")));
  EXPECT_THAT(advice(blade, {}, 0.035).front(), HasSubstr("off the left facet"));
}

// Ground steel cannot be put back: only the line nearer the tip can move, toward the handle.
TEST(AdviceClosedForm, ThePlungeLineNearerTheTipComesBack) {
  EdgeResult result = test::result_of({.stage = Stage::ground});
  result.plunge_mismatch_mm = Measured{0.4, 0.045};
  EXPECT_THAT(all(edge_advice(result, {}, {}, LengthUnit::mm)),
              HasSubstr("left plunge line is 0.400 mm nearer the tip"));
  result.plunge_mismatch_mm = Measured{-0.4, 0.045};
  EXPECT_THAT(all(edge_advice(result, {}, {}, LengthUnit::mm)),
              HasSubstr("right plunge line is 0.400 mm nearer the tip"));
  result.plunge_mismatch_mm = Measured{0.05, 0.045};
  EXPECT_THAT(all(edge_advice(result, {}, {}, LengthUnit::mm)), Not(HasSubstr("nearer the tip")));
}

TEST(AdviceClosedForm, InchesHaveFourDecimals) {
  const EdgeResult result =
      test::result_of({.stage = Stage::ground, .offset_mm = 0.0508, .offset_end_mm = 0.0508});
  EXPECT_THAT(edge_advice(result, {}, {}, LengthUnit::inch).front(),
              HasSubstr("take 0.0040 in off"));
}

TEST(AdviceClosedForm, AWantedLandWithoutALandInSightAsksForCentringOnly) {
  EdgeResult result =
      test::result_of({.stage = Stage::ground, .offset_mm = 0.04, .offset_end_mm = 0.04});
  for (EdgeStation& station : result.stations) station.land_width_mm.reset();
  EXPECT_THAT(edge_advice(result, 0.2, {}, LengthUnit::mm).front(),
              HasSubstr("take 0.080 mm off the left facet"));
}

TEST(AdviceBadInput, NoOffsetNoAdvice) {
  EdgeResult result;
  EXPECT_THAT(edge_advice(result, 0.2, 0.05, LengthUnit::mm).front(),
              HasSubstr("not resolved by this photo"));
}

TEST(AdviceBadInput, ASingleStationIsEnough) {
  EdgeResult result = test::result_of({.stage = Stage::ground});
  result.stations.resize(1);
  EXPECT_FALSE(edge_advice(result, 0.2, 0.05, LengthUnit::mm).front().empty());
}

TEST(AdviceClosedForm, CautionsNameTheDangers) {
  EXPECT_THAT(all(cautions()), AllOf(HasSubstr("tape or sheath"), HasSubstr("running belt"),
                                     HasSubstr("burns"), HasSubstr("lungs"), HasSubstr("guide")));
}

}  // namespace
}  // namespace evenbevel
