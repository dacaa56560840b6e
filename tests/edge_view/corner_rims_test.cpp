// The rims of an unground face with broken corners, on cross-profiles drawn in closed form.

#include "edge_view/corner_rims.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include <gtest/gtest.h>

#include "cross_profile.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

/// One side of the face, outward: the face up to the corner, the corner up to the rim, then what
/// lies behind it.
struct DrawnSide {
  double rim_mm = 1.6;  ///< From the middle.
  double corner_mm = 0.0;
  double corner_light = 0.0, behind_light = 0.05;
};

struct DrawnFace {
  CrossProfile profile;
  double face_light = 0.35;
  DrawnSide low, high;

  /// With the borders that follow from both sides.
  CrossProfile drawn() const {
    CrossProfile out = profile;
    out.background = low.behind_light;
    out.borders = {{-low.rim_mm, low.corner_light - low.behind_light},
                   {-low.rim_mm + low.corner_mm, face_light - low.corner_light},
                   {high.rim_mm - high.corner_mm, high.corner_light - face_light},
                   {high.rim_mm, high.behind_light - high.corner_light}};
    return out;
  }
  double middle_mm() const { return 0.5 * (high.rim_mm - low.rim_mm); }
};

edge::RimPair rough_rims(const DrawnFace& face, double off_high_mm, double off_low_mm) {
  const double half = face.profile.half_length_mm() - 2.0;
  edge::RimPair rough;
  rough.s_begin_mm = -half, rough.s_end_mm = half;
  rough.high.line = {face.high.rim_mm + off_high_mm, face.profile.slope};
  rough.low.line = {-face.low.rim_mm + off_low_mm, face.profile.slope};
  return rough;
}

std::optional<edge::CornerRims> fit(const DrawnFace& face, const edge::LaneImage& image,
                                    const edge::RimPair& rough) {
  return edge::fit_corner_rims(image, face.profile.frame(), CrossProfile::kPxPerMm, rough,
                               {.blur_px = face.profile.blur_px, .halo = 0.0});
}

/// Sharp, or broken by 0.02-0.05 mm; it glints, or stays nearly as dark as the darker of its
/// neighbours.
DrawnSide random_side(double face_light, std::mt19937_64& rng) {
  DrawnSide side;
  side.rim_mm = uniform(rng, 1.55, 1.75);
  side.behind_light = face_light * uniform(rng, 0.05, 0.6);
  if (uniform(rng, 0.0, 1.0) < 0.75) side.corner_mm = uniform(rng, 0.02, 0.05);
  side.corner_light = uniform(rng, 0.9 * side.behind_light, 1.8 * face_light);
  return side;
}

DrawnFace random_face(std::mt19937_64& rng) {
  DrawnFace face;
  face.profile.slope = uniform(rng, -0.004, 0.004);
  face.profile.blur_px = uniform(rng, 0.5, 1.1);
  face.face_light = uniform(rng, 0.2, 0.45);
  face.profile.noise = face.face_light * uniform(rng, 0.005, 0.03);
  face.low = random_side(face.face_light, rng);
  face.high = random_side(face.face_light, rng);
  return face;
}

/// Errors over u of the rims and of their middle.
struct RimErrors {
  std::vector<double> rims_px, over_u, u_px;
  int middles = 0, middles_held = 0;
  int scenes = 0, given = 0;

  static double rms(const std::vector<double>& values) {
    double sum = 0.0;
    for (const double v : values) sum += v * v;
    return std::sqrt(sum / static_cast<double>(values.size()));
  }
  double held() const {
    const auto inside =
        std::count_if(over_u.begin(), over_u.end(), [](double z) { return std::abs(z) <= 2.0; });
    return static_cast<double>(inside) / static_cast<double>(over_u.size());
  }
  void add(double error_mm, double u_mm) {
    rims_px.push_back(error_mm * CrossProfile::kPxPerMm);
    u_px.push_back(u_mm * CrossProfile::kPxPerMm);
    over_u.push_back(error_mm / u_mm);
  }
  void add(const DrawnFace& face, const std::optional<edge::CornerRims>& rims) {
    ++scenes;
    if (!rims) return;
    ++given;
    add(rims->high.line.t_mm(0.0) - face.high.rim_mm, rims->high.u_mm);
    add(rims->low.line.t_mm(0.0) + face.low.rim_mm, rims->low.u_mm);
    const double middle = 0.5 * (rims->high.line.t_mm(0.0) + rims->low.line.t_mm(0.0));
    ++middles;
    if (std::abs(middle - face.middle_mm()) <= 2.0 * rims->u_mid_mm()) ++middles_held;
  }
};

// Random widths, lights, blurs and noises, the two sides each for itself, starts up to a pixel off.
// Of 60 rims in 2 u at the level asked for, 57 are; 3 sigma fewer is 52.
TEST(CornerRimsProperty, RimsLieWhereTheyAreDrawnWithinTheirUncertainty) {
  RimErrors errors;
  for (int number = 0; number < 30; ++number) {
    std::mt19937_64 rng = seeded("CornerRims", number);
    const DrawnFace face = random_face(rng);
    const double off_high = uniform(rng, -0.06, 0.06), off_low = uniform(rng, -0.06, 0.06);
    errors.add(face, fit(face, face.drawn().grey(rng), rough_rims(face, off_high, off_low)));
  }
  EXPECT_GE(errors.given, 28);
  EXPECT_GE(errors.held(), 52.0 / 60.0);
  EXPECT_GE(errors.middles_held, errors.middles - 3);
  // A corner is up to 0.75 px wide here: found to a third of it, and claimed no better than that
  // allows.
  EXPECT_LT(RimErrors::rms(errors.rims_px), 0.25);
  EXPECT_LT(RimErrors::rms(errors.u_px), 0.75);
}

// Of a sharp corner and one broken by 0.05 mm that glints: the border's middle moves by half of
// the corner, the rim as read does not.
TEST(CornerRimsProperty, AGlintOnOneSideDoesNotMoveTheMiddle) {
  for (const bool glint_high : {true, false}) {
    DrawnFace face;
    face.profile.noise = 0.004;
    DrawnSide& broken = glint_high ? face.high : face.low;
    broken.corner_mm = 0.05, broken.corner_light = 0.6;
    std::mt19937_64 rng = seeded("CornerRimsUnequal", glint_high);
    const auto rims = fit(face, face.drawn().grey(rng), rough_rims(face, 0.0, 0.0));
    ASSERT_TRUE(rims);
    const double middle = 0.5 * (rims->high.line.t_mm(0.0) + rims->low.line.t_mm(0.0));
    EXPECT_NEAR(middle, 0.0, 2.0 * rims->u_mid_mm());
    EXPECT_NEAR(middle, 0.0, 0.3 * broken.corner_mm);
  }
}

// The camera stands hardly beyond the rim: a strip of the flat's own face may show, no wider than
// half a pixel. What glints a pixel wide is the corner, whose rim lies behind it.
TEST(CornerRimsProperty, AGlintIsTheCornersWhereHardlyAnyOfTheFlatCanShow) {
  constexpr double kBeyondMm = 1.4;
  RimErrors errors;
  for (int number = 0; number < 12; ++number) {
    std::mt19937_64 rng = seeded("CornerRimsHardlyAslant", number);
    DrawnFace face = random_face(rng);
    face.profile.blur_px = uniform(rng, 0.45, 0.7);
    face.high.corner_mm = uniform(rng, 0.04, 0.05);
    face.high.corner_light = face.face_light * uniform(rng, 1.5, 2.5);
    face.high.behind_light = face.face_light * uniform(rng, 0.7, 1.0);
    face.profile.camera_t_mm = face.high.rim_mm + kBeyondMm;
    const double off = -uniform(rng, 0.02, 0.05);  // Where the face ends, as its dye tells.
    const auto rims = fit(face, face.drawn().grey(rng), rough_rims(face, off - 0.015, 0.0));
    ASSERT_TRUE(rims);
    errors.add(rims->high.line.t_mm(0.0) - face.high.rim_mm, rims->high.u_mm);
  }
  EXPECT_LT(RimErrors::rms(errors.rims_px), 0.3);
}

TEST(CornerRimsProperty, RimsRunAlongTheFace) {
  DrawnFace face;
  face.profile.noise = 0.004;
  face.profile.slope = 0.0035;
  std::mt19937_64 rng = seeded("CornerRimsSlope", 0);
  const auto rims = fit(face, face.drawn().grey(rng), rough_rims(face, 0.02, -0.02));
  ASSERT_TRUE(rims);
  EXPECT_NEAR(rims->high.line.slope, 0.0035, 0.0002);
  EXPECT_NEAR(rims->low.line.slope, 0.0035, 0.0002);
}

// A gap 3 px behind the rim is a border of its own: told of it, the rim stays.
TEST(CornerRimsProperty, ABorderBehindTheRimIsFittedWithIt) {
  constexpr double kBehind_mm = 3.0 / CrossProfile::kPxPerMm;
  DrawnFace face;
  face.profile.noise = 0.003;
  face.high.behind_light = face.low.behind_light = 0.18;
  CrossProfile drawn = face.drawn();
  drawn.background = 0.02;
  drawn.borders.push_back({-face.low.rim_mm - kBehind_mm, 0.16});
  drawn.borders.push_back({face.high.rim_mm + kBehind_mm, -0.16});
  std::mt19937_64 rng = seeded("CornerRimsBeside", 0);
  edge::RimPair rough = rough_rims(face, 0.01, 0.01);
  rough.high.beside_mm = rough.low.beside_mm = {kBehind_mm};
  const auto rims = fit(face, drawn.grey(rng), rough);
  ASSERT_TRUE(rims);
  EXPECT_NEAR(rims->high.line.t_mm(0.0), face.high.rim_mm, 2.0 * rims->high.u_mm);
  EXPECT_NEAR(rims->low.line.t_mm(0.0), -face.low.rim_mm, 2.0 * rims->low.u_mm);
}

/// A picture in the dye's own colour beside grey, in which the face is hardly brighter than behind.
edge::LaneImage dyed(const DrawnFace& face, double grey_share, std::mt19937_64& rng) {
  edge::LaneImage image = face.drawn().grey(rng);
  DrawnFace in_grey = face;
  for (DrawnSide* side : {&in_grey.low, &in_grey.high}) {
    side->behind_light = face.face_light * (1.0 - grey_share);
    side->corner_light = face.face_light;
  }
  image.grey = in_grey.drawn().light(rng);
  return image;
}

TEST(CornerRimsProperty, TheDyesOwnColourShowsWhatGreyHardlyDoes) {
  RimErrors errors;
  for (int number = 0; number < 8; ++number) {
    std::mt19937_64 rng = seeded("CornerRimsDye", number);
    DrawnFace face = random_face(rng);
    face.profile.noise = 0.01 * face.face_light;
    const edge::LaneImage image = dyed(face, 0.04, rng);
    errors.add(face, fit(face, image, rough_rims(face, 0.03, -0.03)));
  }
  EXPECT_EQ(errors.given, 8);
  EXPECT_GE(errors.held(), 0.8);
  EXPECT_LT(RimErrors::rms(errors.rims_px), 0.35);
}

// Even light right across, and noise: nothing is claimed beyond the pixel it was thought to lie in.
TEST(CornerRimsProperty, WhereThereIsNoRimNoneIsClaimed) {
  for (int number = 0; number < 4; ++number) {
    std::mt19937_64 rng = seeded("CornerRimsNone", number);
    DrawnFace face;
    for (DrawnSide* side : {&face.low, &face.high})
      side->behind_light = side->corner_light = face.face_light;
    face.profile.noise = 0.01;
    const auto rims = fit(face, face.drawn().grey(rng), rough_rims(face, 0.0, 0.0));
    if (!rims) continue;
    EXPECT_GT(rims->high.u_mm * CrossProfile::kPxPerMm, 0.4);
    EXPECT_GT(rims->low.u_mm * CrossProfile::kPxPerMm, 0.4);
  }
}

}  // namespace
}  // namespace evenbevel::test
