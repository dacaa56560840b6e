// What long bands say of the followed pair, on cross-profiles drawn in closed form: whether a third
// border shows inside of a land, and whether two lines or a land explain what is seen.

#include "edge_view/pair_shape.hpp"

#include <gtest/gtest.h>

#include "cross_profile.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

constexpr double kRim_mm = 1.6;

/// A ground edge: facets of either light, a land between, perhaps a strip of it in another light.
struct DrawnEdge {
  CrossProfile profile;
  double low_mm = -0.25, high_mm = 0.25;
  double facet_low = 0.4, land = 0.15, facet_high = 0.34;

  CrossProfile drawn() const {
    CrossProfile out = profile;
    out.background = 0.02;
    out.borders = {{-kRim_mm, facet_low - 0.02},
                   {low_mm, land - facet_low},
                   {high_mm, facet_high - land},
                   {kRim_mm, 0.02 - facet_high}};
    return out;
  }
  /// From `at_mm` to the high border the land is so much brighter.
  CrossProfile with_third(double at_mm, double step) const {
    CrossProfile out = drawn();
    out.borders.push_back({at_mm, step});
    out.borders.push_back({high_mm, -step});
    return out;
  }
};

DrawnEdge random_edge(std::mt19937_64& rng) {
  DrawnEdge edge;
  edge.profile.slope = uniform(rng, -0.004, 0.004);
  edge.profile.blur_px = uniform(rng, 0.5, 1.0);
  edge.low_mm = -uniform(rng, 0.2, 0.35), edge.high_mm = uniform(rng, 0.2, 0.35);
  edge.facet_low = uniform(rng, 0.25, 0.5), edge.facet_high = uniform(rng, 0.25, 0.5);
  edge.land = uniform(rng, 0.08, 0.18);
  edge.profile.noise = uniform(rng, 0.004, 0.02);
  return edge;
}

edge::FlatsPair flats_of(const CrossProfile& profile) {
  const double end = profile.half_length_mm() - 2.0;
  return {.high = {kRim_mm, profile.slope},
          .low = {-kRim_mm, profile.slope},
          .seen = {},
          .s_begin_mm = -end,
          .s_end_mm = end};
}

edge::InnerTrace trace_of(const CrossProfile& profile, double low_mm, double high_mm) {
  edge::InnerTrace trace;
  const double end = profile.half_length_mm() - 3.0;
  for (double s = -end; s <= end; s += 0.5)
    trace.places.push_back({s, low_mm + profile.slope * s, high_mm + profile.slope * s});
  return trace;
}

edge::ReadingPlan plan_of(const CrossProfile& profile, Stage stage) {
  return {.stage = stage, .blur_px = profile.blur_px};
}

double third_share(const DrawnEdge& edge, const edge::LaneImage& image) {
  const CrossProfile& profile = edge.profile;
  return edge::third_border_share(image, profile.frame(), flats_of(profile),
                                  trace_of(profile, edge.low_mm, edge.high_mm),
                                  plan_of(profile, Stage::ground));
}

TEST(ThirdBorderProperty, NoneShowsInALandOfTwoBorders) {
  for (int number = 0; number < 12; ++number) {
    std::mt19937_64 rng = seeded("ThirdBorderNone", number);
    const DrawnEdge edge = random_edge(rng);
    EXPECT_EQ(third_share(edge, edge.drawn().grey(rng)), 0.0) << number;
  }
}

// Anywhere in the land that is 1.5 px or more from both borders, a third as strong as they or
// stronger.
TEST(ThirdBorderProperty, OneInsideOfTheLandShowsInEveryBand) {
  for (int number = 0; number < 12; ++number) {
    std::mt19937_64 rng = seeded("ThirdBorder", number);
    DrawnEdge edge = random_edge(rng);
    edge.profile.noise = 0.005;
    const double margin = 1.5 / CrossProfile::kPxPerMm;
    const double at = uniform(rng, edge.low_mm + margin, edge.high_mm - margin);
    const double step = uniform(rng, 0.1, 0.6) > 0.35 ? 0.15 : 0.1;
    EXPECT_GE(third_share(edge, edge.with_third(at, step).grey(rng)), 0.8) << number;
  }
}

// In the half of the blade where it is drawn: bands that reach over both halves may go either way.
TEST(ThirdBorderProperty, TheShareIsThatOfTheLengthWhereItShows) {
  DrawnEdge edge;
  edge.profile.noise = 0.005;
  std::mt19937_64 rng = seeded("ThirdBorderHalf", 0);
  edge::LaneImage image = edge.drawn().grey(rng);
  const edge::LaneImage with_third = edge.with_third(0.0, 0.12).grey(rng);
  const cv::Range half(0, image.grey.linear.cols / 2);
  with_third.grey.linear.colRange(half).copyTo(image.grey.linear.colRange(half));
  const double share = third_share(edge, image);
  EXPECT_GE(share, 0.35);
  EXPECT_LE(share, 0.65);
}

// A shade of a hundredth of the borders' own steps is none.
TEST(ThirdBorderProperty, AShadeInTheLandIsNoBorder) {
  DrawnEdge edge;
  edge.profile.noise = 0.01;
  std::mt19937_64 rng = seeded("ThirdBorderShade", 0);
  EXPECT_EQ(third_share(edge, edge.with_third(0.0, 0.003).grey(rng)), 0.0);
}

/// Bright lines 0.05 mm wide on the unground face.
CrossProfile scribed_face(double low_mm, double high_mm, const CrossProfile& of) {
  CrossProfile out = of;
  out.background = 0.02;
  out.borders = {{-kRim_mm, 0.2}, {kRim_mm, -0.2}};
  for (const double middle : {low_mm, high_mm}) {
    out.borders.push_back({middle - 0.025, 0.3});
    out.borders.push_back({middle + 0.025, -0.3});
  }
  return out;
}

double misfit(const CrossProfile& profile, const edge::LaneImage& image, double low_mm,
              double high_mm, Stage stage) {
  constexpr double kAnyMisfit = 1e9;
  return edge::mean_log_misfit(image, profile.frame(), flats_of(profile),
                               trace_of(profile, low_mm, high_mm), plan_of(profile, stage),
                               kAnyMisfit);
}

TEST(PairMisfitProperty, LinesAreExplainedByLinesAndALandByALand) {
  for (int number = 0; number < 8; ++number) {
    std::mt19937_64 rng = seeded("PairMisfit", number);
    const DrawnEdge edge = random_edge(rng);
    const CrossProfile& profile = edge.profile;
    const edge::LaneImage land = edge.drawn().grey(rng);
    EXPECT_LT(misfit(profile, land, edge.low_mm, edge.high_mm, Stage::ground) + 0.5,
              misfit(profile, land, edge.low_mm, edge.high_mm, Stage::scribed))
        << number;
    const edge::LaneImage lines = scribed_face(edge.low_mm, edge.high_mm, profile).grey(rng);
    EXPECT_LT(misfit(profile, lines, edge.low_mm, edge.high_mm, Stage::scribed) + 0.5,
              misfit(profile, lines, edge.low_mm, edge.high_mm, Stage::ground))
        << number;
  }
}

}  // namespace
}  // namespace evenbevel::test
