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

std::vector<std::string> said(const EdgeResult& result, std::optional<double> land_mm = {},
                              std::optional<double> tolerance_mm = {},
                              LengthUnit unit = LengthUnit::mm) {
  return sentences(edge_advice(result, land_mm, tolerance_mm), unit);
}

std::vector<std::string> advice(const DrawnBlade& blade, std::optional<double> land_mm = {},
                                std::optional<double> tolerance_mm = {}) {
  return said(test::result_of(blade), land_mm, tolerance_mm);
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
              AllOf(HasSubstr("take 0.080 mm across the land"),
                    HasSubstr("off the left facet and leave the other one")));
  EXPECT_THAT(advice({.stage = Stage::ground, .offset_mm = -0.04, .offset_end_mm = -0.04}).front(),
              AllOf(HasSubstr("take 0.080 mm across the land"),
                    HasSubstr("off the right facet and leave the other one")));
}

// Borders at c +- e/2 = +0.19, -0.11; lines at +-0.10: 0.09 and 0.01 to lose. Square into facets of
// 44 and 46 degrees that is 0.09 cos 44 = 0.0647 and 0.01 cos 46 = 0.0069.
TEST(AdviceClosedForm, WithAWantedLandEachFaceHasItsOwnWayToGo) {
  const DrawnBlade blade{.stage = Stage::ground,
                         .width_mm = 0.30,
                         .offset_mm = 0.04,
                         .offset_end_mm = 0.04,
                         .offset_u_mm = 0.001,
                         .width_u_mm = 0.001};
  EXPECT_THAT(
      advice(blade, 0.20).front(),
      HasSubstr("take 0.090 mm across the land (0.065 mm square into the facet) off the left "
                "facet and 0.010 mm across the land (0.007 mm square into the facet) off "
                "the right facet: that leaves the land of 0.2 mm that you want."));
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
                    HasSubstr("a land of 0.220 mm"), HasSubstr("taking 0.080 mm across the land"),
                    HasSubstr("off the other one only"), HasSubstr("lower the edge by 0.040 mm")));
}

// Borders at +0.25 and +0.05: the right one has crossed the middle, and is 0.175 from its line.
TEST(AdviceClosedForm, AFaceBeyondTheMiddleCannotBeCentredAtThisHeight) {
  const DrawnBlade blade{
      .stage = Stage::ground, .width_mm = 0.20, .offset_mm = 0.15, .offset_end_mm = 0.15};
  EXPECT_THAT(advice(blade, 0.25).front(),
              AllOf(HasSubstr("no centred land would surely be left at this height"),
                    HasSubstr("lower it by 0.175 mm first")));
}

TEST(AdviceClosedForm, ALandUnderTheWantedWidthIsOnlyCentred) {
  const DrawnBlade blade{.stage = Stage::ground,
                         .width_mm = 0.20,
                         .offset_mm = 0.02,
                         .offset_end_mm = 0.02,
                         .offset_u_mm = 0.001,
                         .width_u_mm = 0.001};
  EXPECT_THAT(
      advice(blade, 0.30).front(),
      AllOf(HasSubstr("already down to 0.200 mm"), HasSubstr("taking 0.040 mm across the land"),
            HasSubstr("leaves a land of 0.160 mm"), HasSubstr("lower the edge by 0.070 mm")));
}

// Taking 2 x 0.04 off a land of 0.262 leaves 0.182, u 0.005 + 2 x 0.004; the usual 0.3 is 0.118
// more. Lowered by d, facets of 45 degrees on average give 2 d back: d = 0.059.
TEST(AdviceClosedForm, TheHeadlineSaysWhatRemains) {
  EXPECT_EQ(
      advice({.stage = Stage::ground, .offset_mm = 0.04, .offset_end_mm = 0.04}).front(),
      "Along the whole blade take 0.080 mm across the land (0.058 mm square into the facet) off "
      "the left facet and leave the other one: that leaves a land of 0.182 mm (U95 0.026 mm), "
      "0.118 mm less than the usual 0.3 mm; or lower the edge by 0.059 mm first, and 0.3 mm "
      "are left.");
}

TEST(AdviceClosedForm, WhetherTheLandIsEnoughIsSaidByItsInterval) {
  const auto first = [](double width_mm) {
    return advice({.stage = Stage::ground,
                   .width_mm = width_mm,
                   .offset_mm = 0.04,
                   .offset_end_mm = 0.04})
        .front();
  };
  EXPECT_THAT(first(0.50), AllOf(HasSubstr("a land of 0.420 mm"),
                                 HasSubstr("enough: 0.120 mm more than the usual 0.3 mm"),
                                 Not(HasSubstr("lower the edge"))));
  EXPECT_THAT(first(0.39), AllOf(HasSubstr("a land of 0.310 mm"),
                                 HasSubstr("as far as this photo can tell the usual 0.3 mm"),
                                 Not(HasSubstr("lower the edge"))));
}

// Where the offset runs from 0.02 to 0.08, 0.16 comes off at the tip: 0.40 - 0.16 are left there.
TEST(AdviceClosedForm, TheLandIsSaidWhereItGetsNarrowest) {
  EXPECT_THAT(
      advice({.stage = Stage::ground, .width_mm = 0.40, .offset_mm = 0.02, .offset_end_mm = 0.08})
          .front(),
      HasSubstr("0.240 mm of the land (U95 0.026 mm, narrowest at x = 60 mm)"));
}

// The land's own interval is wider than what the cut changes by: 0.37 - 0.06 at the tip all the
// same.
TEST(AdviceClosedForm, TheLandIsThatOfThePlaceWhereTheMostComesOff) {
  EXPECT_THAT(advice({.stage = Stage::ground,
                      .width_mm = 0.37,
                      .offset_mm = 0.01,
                      .offset_end_mm = 0.03,
                      .width_u_mm = 0.05,
                      .unseen = {}})
                  .front(),
              HasSubstr("0.31 mm of the land (U95 0.11 mm, narrowest at x = 60 mm)"));
}

// Taking 0.09 off 0.10 leaves 0.01, U95 0.026: perhaps nothing. (0.3 - 0.01) / 2 = 0.145.
TEST(AdviceClosedForm, ACutThatMayLeaveNoLandIsNotAdvised) {
  DrawnBlade blade{
      .stage = Stage::ground, .width_mm = 0.10, .offset_mm = 0.045, .offset_end_mm = 0.045};
  EXPECT_THAT(advice(blade).front(),
              AllOf(HasSubstr("lower the edge by 0.145 mm first, then take 0.090 mm"),
                    HasSubstr("no land would surely be left (0.010 mm, U95 0.026 mm)")));
  blade.stage = Stage::bevelled;
  EXPECT_THAT(advice(blade).front(), HasSubstr("do not centre it at this height"));
}

// Over 6 of 60 mm there is nothing to take off.
TEST(AdviceClosedForm, TheWholeBladeIsNotNamedWhereAStretchIsLeft) {
  EdgeResult result = test::result_of(
      {.stage = Stage::ground, .offset_mm = 0.04, .offset_end_mm = 0.04, .unseen = {}});
  for (EdgeStation& station : result.stations) {
    if (station.x_mm > 54.5) station.centreline_offset_mm->value = 0.0;
  }
  EXPECT_THAT(said(result).front(), HasSubstr("From x = 0 to 54 mm take"));
  EXPECT_THAT(all(said(result)), Not(HasSubstr("whole blade")));
}

TEST(AdviceClosedForm, ScribeLinesAreScribedAgainOrGroundPast) {
  EXPECT_THAT(
      advice({.stage = Stage::scribed, .offset_mm = 0.04, .offset_end_mm = 0.04}).front(),
      AllOf(HasSubstr("0.040 mm toward the left face"), HasSubstr("scribe again"),
            HasSubstr("0.040 mm past the left line"), HasSubstr("0.040 mm short of the right line"),
            HasSubstr("leaves a land of 0.262 mm")));
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
  EXPECT_THAT(text, HasSubstr("0.160 mm across the land (most at x = 60 mm;"));
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
  EXPECT_THAT(all(said(result)),
              HasSubstr("left plunge line is 0.400 mm (U95 0.088 mm) nearer the tip"));
  result.plunge_mismatch_mm = Measured{-0.4, 0.045};
  EXPECT_THAT(all(said(result)),
              HasSubstr("right plunge line is 0.400 mm (U95 0.088 mm) nearer the tip"));
  result.plunge_mismatch_mm = Measured{0.05, 0.045};
  EXPECT_THAT(all(said(result)), Not(HasSubstr("nearer the tip")));
}

TEST(AdviceClosedForm, InchesHaveFourDecimals) {
  const EdgeResult result =
      test::result_of({.stage = Stage::ground, .offset_mm = 0.0508, .offset_end_mm = 0.0508});
  EXPECT_THAT(said(result, {}, {}, LengthUnit::inch).front(),
              HasSubstr("take 0.0040 in across the land"));
}

TEST(AdviceClosedForm, AWantedLandWithoutALandInSightAsksForCentringOnly) {
  EdgeResult result =
      test::result_of({.stage = Stage::ground, .offset_mm = 0.04, .offset_end_mm = 0.04});
  for (EdgeStation& station : result.stations) station.land_width_mm.reset();
  EXPECT_THAT(said(result, 0.2).front(),
              AllOf(HasSubstr("take 0.080 mm across the land"),
                    HasSubstr("how much land that leaves does not show in this photo")));
}

TEST(AdviceBadInput, NoOffsetNoAdvice) {
  EdgeResult result;
  EXPECT_THAT(said(result, 0.2, 0.05).front(), HasSubstr("not resolved by this photo"));
}

TEST(AdviceBadInput, ASingleStationIsEnough) {
  EdgeResult result = test::result_of({.stage = Stage::ground});
  result.stations.resize(1);
  EXPECT_FALSE(said(result, 0.2, 0.05).front().empty());
}

TEST(AdviceClosedForm, CautionsNameTheDangers) {
  EXPECT_THAT(all(cautions()), AllOf(HasSubstr("tape or sheath"), HasSubstr("running belt"),
                                     HasSubstr("burns"), HasSubstr("lungs"), HasSubstr("guide")));
}

}  // namespace
}  // namespace evenbevel
