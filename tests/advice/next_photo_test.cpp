// Which photo would resolve a verdict, and by how much it would narrow the interval.

#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "edge_view/metric.hpp"
#include "evenbevel/advice.hpp"

namespace evenbevel {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::StartsWith;

/// A blade 0.020 mm off at its worst place, measured from 220 mm above.
EdgeResult blade(const std::vector<BudgetLine>& budget) {
  EdgeResult result;
  result.pose = CardPose{};
  result.camera_distance_mm = 220.0;
  result.centreline_offset_worst_mm = combine(0.020, budget);
  return result;
}

/// Empty where no photo is asked for.
std::string next_sentence(const EdgeResult& result, double tolerance_mm) {
  const std::optional<Remark> next = next_photo(result, tolerance_mm);
  return next ? sentence(*next, LengthUnit::mm) : "";
}

/// U95 of normal distributions: 1.96 u, printed to 0.001 mm.
std::string U95_text(double u) {
  return format_length(std::round(1000.0 * 1.959964 * u) / 1000.0, LengthUnit::mm);
}

// Light falls to a half, location by sqrt 2, the jaws' tilt to 0.3 / sqrt 2, depth goes: by hand.
TEST(NextPhotoClosedForm, TurningIsProposedWhereTheSetUpDominates) {
  const EdgeResult result = blade({{edge::kLight, 0.004},
                                   {edge::kSquareness, 0.010},
                                   {edge::kDepth, 0.004},
                                   {edge::kEdgeLocation, 0.002}});
  const double now = std::sqrt(0.004 * 0.004 * 2.0 + 0.01 * 0.01 + 0.002 * 0.002);
  const double then = std::sqrt(0.002 * 0.002 + 0.002 * 0.002 / 2.0 + 0.003 * 0.003 / 2.0);
  const std::string sentence = next_sentence(result, 0.010);
  EXPECT_THAT(sentence, StartsWith("Turn the blade end for end"));
  EXPECT_THAT(sentence, HasSubstr("from " + U95_text(now) + " to about " + U95_text(then)));
}

/// A blade whose lens is a guess.
EdgeResult guessed(const std::vector<BudgetLine>& budget) {
  EdgeResult result = blade(budget);
  result.lens_guessed = true;
  return result;
}

TEST(CalibrateFirstClosedForm, WhereTheGuessedLensWidensTheInterval) {
  const auto advice = calibrate_first(guessed({{edge::kParallax, 0.012}, {edge::kLight, 0.006}}));
  ASSERT_TRUE(advice.has_value());
  EXPECT_THAT(sentence(*advice, LengthUnit::mm),
              HasSubstr("from " + U95_text(0.006) + " to " + U95_text(std::hypot(0.012, 0.006))));
}

// How deep the flats lie is not the lens's: no camera file narrows that.
TEST(CalibrateFirstClosedForm, NotWhereAnotherCauseDoes) {
  EXPECT_FALSE(calibrate_first(guessed({{edge::kDepth, 0.020}, {edge::kParallax, 0.002}})));
  EXPECT_FALSE(calibrate_first(blade({{edge::kParallax, 0.012}, {edge::kLight, 0.006}})));
}

TEST(CalibrateFirstClosedForm, OfFacesByTheirDifferenceOrTheOneHeight) {
  SideResult result;
  const auto height = [&](double lens) {
    return combine(10.0,
                   {{"lens, pose and flatness", lens}, {"bevel line, light and blur", 0.060}});
  };
  result.bevel_height_right_mm = height(0.200);
  const auto one = calibrate_first(result, true);
  ASSERT_TRUE(one.has_value());
  EXPECT_THAT(sentence(*one, LengthUnit::mm),
              HasSubstr("from " + U95_text(0.060) + " to " + U95_text(std::hypot(0.200, 0.060))));
  EXPECT_FALSE(calibrate_first(result, false));
  result.bevel_height_difference_worst_mm = height(0.020);
  EXPECT_FALSE(calibrate_first(result, true));
}

TEST(CalibrateFirstClosedForm, OfTheSectionAtTheDepthThatIsWidenedMost) {
  ChoilResult result;
  const auto add = [&](double lens, double light) {
    result.depths.push_back({.depth_mm = 1.0,
                             .left_px = {},
                             .right_px = {},
                             .thickness_mm = combine(0.4, {{"lens", lens}, {"light", light}}),
                             .half_left_mm = {},
                             .half_right_mm = {},
                             .asymmetry_mm = {}});
  };
  add(0.002, 0.007);
  EXPECT_FALSE(calibrate_first(result, true));
  add(0.020, 0.007);
  const auto advice = calibrate_first(result, true);
  ASSERT_TRUE(advice.has_value());
  EXPECT_THAT(sentence(*advice, LengthUnit::mm), HasSubstr("from " + U95_text(0.007)));
  EXPECT_FALSE(calibrate_first(result, false));
}

TEST(NextPhotoClosedForm, StandingOverTheEdgeIsProposedWhereDepthIsLeftAfterTurning) {
  EdgeResult result = blade({{edge::kDepth, 0.010}, {edge::kCorners, 0.001}});
  result.photos.resize(1);
  result.photos.front().turned = true;  // turned already
  result.camera_lateral_mm = 12.0;
  EXPECT_THAT(next_sentence(result, 0.010),
              StartsWith("Move the camera 12 mm toward the right face"));
}

TEST(NextPhotoClosedForm, ComingCloserIsProposedFromFarAway) {
  EdgeResult result = blade({{edge::kLight, 0.010}, {edge::kCorners, 0.001}});
  result.photos.resize(1);
  result.photos.front().turned = true;  // turned already
  result.camera_distance_mm = 400.0;
  EXPECT_THAT(next_sentence(result, 0.010), StartsWith("Come closer"));
}

// Broken corners are the blade's own: no photo takes them out.
TEST(NextPhotoClosedForm, WhatNoPhotoCanTellIsSaid) {
  EXPECT_THAT(next_sentence(blade({{edge::kCorners, 0.010}}), 0.010),
              StartsWith("No further photo"));
}

TEST(NextPhotoClosedForm, AResolvedVerdictNeedsNone) {
  const EdgeResult result = blade({{edge::kLight, 0.001}});
  EXPECT_THAT(next_sentence(result, 0.010), IsEmpty());
  EXPECT_THAT(next_sentence(result, 0.050), IsEmpty());
}

TEST(NextPhotoClosedForm, AWorstPlaceAtTheLimitIsSaidToStayOpen) {
  EXPECT_THAT(next_sentence(blade({{edge::kSquareness, 0.010}}), 0.0201),
              HasSubstr("may still not tell"));
}

}  // namespace
}  // namespace evenbevel
