// Where layout dye ends, on cross-profiles drawn in closed form, a channel at a time.

#include "edge_view/dye_ends.hpp"

#include <array>
#include <optional>

#include <gtest/gtest.h>
#include <opencv2/core.hpp>

#include "cross_profile.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

/// What one part of the picture sends, linear light: blue, green, red.
using Colour = std::array<double, 3>;

/// Parts from the smallest t on, each up to the next border.
struct DyedFace {
  CrossProfile profile;
  Colour lamp{1.0, 1.0, 1.0};
  Colour paint{0.40, 0.12, 0.06};
  double low_mm = 1.6, high_mm = 1.5;  ///< From the middle to where the dye ends.
  double behind_low = 0.05, behind_high = 0.05;
  double glint_mm = 0.0, glint = 0.0;  ///< Bare steel beyond the dye, on the side of larger t.
  std::size_t own = 0;                 ///< Channel of the paint; red paint swaps the outer two.

  double paint_in(std::size_t channel) const { return paint[own == 0 ? channel : 2 - channel]; }

  edge::LaneImage drawn(std::mt19937_64& rng) const {
    std::array<cv::Mat, 3> channels;
    for (std::size_t c = 0; c < channels.size(); ++c) {
      CrossProfile one = profile;
      one.background = behind_low * lamp[c];
      const double face = paint_in(c) * lamp[c], glinting = glint * lamp[c];
      one.borders = {{-low_mm, face - one.background},
                     {high_mm, glinting - face},
                     {high_mm + glint_mm, behind_high * lamp[c] - glinting}};
      channels[c] = one.light(rng).encoded;
    }
    edge::LaneImage image = profile.grey(rng);
    cv::merge(channels.data(), channels.size(), image.colour);
    image.dye_channel = static_cast<int>(own);
    return image;
  }
};

std::optional<edge::DyeEnds> ends_of(const DyedFace& face, std::mt19937_64& rng) {
  const double half = face.profile.half_length_mm() - 2.0;
  return edge::dye_ends(face.drawn(rng), face.profile.frame(), CrossProfile::kPxPerMm,
                        {.s_begin_mm = -half,
                         .s_end_mm = half,
                         .middle = {0.0, face.profile.slope},
                         .least_mm = 1.0,
                         .most_mm = 2.6});
}

/// Grey of any brightness on either side, under daylight or a lamp that leans to red or blue.
DyedFace random_dyed_face(std::mt19937_64& rng) {
  DyedFace face;
  face.profile.slope = uniform(rng, -0.003, 0.003);
  face.profile.blur_px = uniform(rng, 0.5, 1.2);
  face.profile.noise = uniform(rng, 0.001, 0.006);
  const double warm = uniform(rng, 0.6, 1.4);
  face.lamp = {1.0 / warm, 1.0, warm};
  face.own = uniform(rng, 0.0, 1.0) < 0.5 ? 0 : 2;
  face.low_mm = uniform(rng, 1.3, 1.8), face.high_mm = uniform(rng, 1.3, 1.8);
  face.behind_low = uniform(rng, 0.0, 0.5), face.behind_high = uniform(rng, 0.0, 0.5);
  return face;
}

TEST(DyeEndsProperty, DyeEndsWhereItIsDrawnWhateverLiesBehind) {
  constexpr double kWithinPx =
      0.5;  // It tells which border is meant: those are 1 px apart and more.
  for (int number = 0; number < 40; ++number) {
    SCOPED_TRACE(number);
    std::mt19937_64 rng = seeded("DyeEnds", number);
    const DyedFace face = random_dyed_face(rng);
    const auto ends = ends_of(face, rng);
    ASSERT_TRUE(ends);
    EXPECT_NEAR(ends->high_mm, face.high_mm, kWithinPx / CrossProfile::kPxPerMm);
    EXPECT_NEAR(ends->low_mm, face.low_mm, kWithinPx / CrossProfile::kPxPerMm);
  }
}

// Jaws as bright as the dye in its own channel: in that channel alone there is no border.
TEST(DyeEndsClosedForm, GreyAsBrightAsTheDyeInItsOwnColourIsNotTheFace) {
  std::mt19937_64 rng = seeded("DyeEndsAlike", 0);
  DyedFace face;
  face.behind_low = face.behind_high = face.paint[0];
  const auto ends = ends_of(face, rng);
  ASSERT_TRUE(ends);
  EXPECT_NEAR(ends->high_mm, face.high_mm, 0.03);
  EXPECT_NEAR(ends->low_mm, face.low_mm, 0.03);
}

TEST(DyeEndsClosedForm, BareSteelThatGlintsBesideTheDyeIsNoDye) {
  std::mt19937_64 rng = seeded("DyeEndsGlint", 0);
  DyedFace face;
  face.glint_mm = 0.2, face.glint = 0.8;
  const auto ends = ends_of(face, rng);
  ASSERT_TRUE(ends);
  EXPECT_NEAR(ends->high_mm, face.high_mm, 0.05);
}

TEST(DyeEndsBadInput, DyeThatRunsOnOverOneSideHasNoEndThere) {
  std::mt19937_64 rng = seeded("DyeEndsOver", 0);
  DyedFace face;
  face.high_mm = 9.0;
  EXPECT_FALSE(ends_of(face, rng));
}

TEST(DyeEndsBadInput, WithoutDyeThereIsNone) {
  std::mt19937_64 rng = seeded("DyeEndsBare", 0);
  DyedFace face;
  face.paint = {0.3, 0.3, 0.3};
  EXPECT_FALSE(ends_of(face, rng));
}

/// A stripe of dye, its middle `off_mm` beside what was followed, and a bright streak on a facet.
std::optional<double> land_off_mm(DyedFace land, double off_mm, std::mt19937_64& rng) {
  constexpr double kLandMm = 0.4;
  land.low_mm = 0.5 * kLandMm - off_mm;
  land.high_mm = 0.5 * kLandMm + off_mm;
  const double half = land.profile.half_length_mm() - 2.0;
  edge::InnerTrace followed;
  for (double s = -half; s <= half; s += 1.0) {
    const double middle = land.profile.slope * s;
    followed.places.push_back({s, middle - 0.5 * kLandMm, middle + 0.5 * kLandMm});
  }
  constexpr double kReachMm = 1.4;
  return edge::dyed_land_off_mm(land.drawn(rng), land.profile.frame(), CrossProfile::kPxPerMm,
                                followed, kReachMm);
}

TEST(DyedLandProperty, ItsMiddleIsToldWhateverStreaksLieBesideIt) {
  constexpr double kWithinPx = 0.7;  // A land is taken for another from 1 px on.
  for (int number = 0; number < 20; ++number) {
    SCOPED_TRACE(number);
    std::mt19937_64 rng = seeded("DyedLand", number);
    DyedFace land = random_dyed_face(rng);
    land.glint_mm = uniform(rng, 0.1, 0.4);
    land.glint = uniform(rng, 0.2, 0.8);
    const double off_mm = uniform(rng, -0.4, 0.4);
    const auto told_mm = land_off_mm(land, off_mm, rng);
    ASSERT_TRUE(told_mm);
    EXPECT_NEAR(*told_mm, off_mm, kWithinPx / CrossProfile::kPxPerMm);
  }
}

TEST(DyedLandClosedForm, GreySteelUnderAColouredLampIsNotDyed) {
  std::mt19937_64 rng = seeded("DyedLandGrey", 0);
  DyedFace land;
  land.paint = {0.5, 0.5, 0.5};
  land.lamp = {0.5, 0.8, 1.3};
  EXPECT_FALSE(land_off_mm(land, 0.2, rng));
}

}  // namespace
}  // namespace evenbevel::test
