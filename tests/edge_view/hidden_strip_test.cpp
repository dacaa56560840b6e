// The strip of the flat that a camera aside sees below the rim, too narrow to be told apart: where
// it is suspected, and what it leaves unknown.

#include <algorithm>
#include <cmath>
#include <optional>

#include <gtest/gtest.h>

#include "cross_profile.hpp"
#include "edge_view/flats_fix.hpp"
#include "edge_view/rims.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

constexpr double kHalf_mm = 1.6, kAway_mm = 300.0;

/// A ground edge whose camera stands so far toward high from the middle.
CrossProfile seen_from(double camera_t_mm) {
  CrossProfile profile;
  profile.breadth_px = 140.0;
  profile.noise = 0.003;
  profile.camera_t_mm = camera_t_mm;
  profile.slope = 0.003;
  profile.background = 0.03;
  profile.borders = {{-kHalf_mm, 0.35}, {-0.25, -0.25}, {0.25, 0.25}, {kHalf_mm, -0.35}};
  return profile;
}

std::optional<edge::RimPair> rims_of(const CrossProfile& profile) {
  std::mt19937_64 rng = seeded("HiddenStrip", 0);
  const edge::LaneImage image = profile.grey(rng);
  const edge::StripFrame frame = profile.frame();
  const double end = profile.half_length_mm() - 2.0;
  const edge::CoarseStrip fine = edge::fine_strip(image, &edge::LaneImage::flats, frame,
                                                  {-end, end, -3.5, 3.5}, CrossProfile::kPxPerMm);
  const std::vector<edge::RimPair> pairs =
      edge::find_rims(image, fine, frame, CrossProfile::kPxPerMm,
                      {.s_begin_mm = -end,
                       .s_end_mm = end,
                       .middle = {0.0, profile.slope},
                       .keep_out_mm = 0.6,
                       .width_low_mm = 2.9,
                       .width_high_mm = 3.6,
                       .width_usual_mm = 3.2,
                       .width_usual_u_mm = 0.1,
                       .blur_px = profile.blur_px});
  return pairs.empty() ? std::nullopt : std::optional(pairs.front());
}

/// The widest strip, px: 14 mm of the flat below the edge (it stands 2-10 mm proud), seen so far
/// aslant; from 2 px on it would be told apart.
double widest_px(double camera_t_mm) {
  const double aslant = (camera_t_mm - kHalf_mm) / kAway_mm;
  return std::clamp(14.0 * aslant * CrossProfile::kPxPerMm, 0.0, 2.0);
}

TEST(HiddenStripClosedForm, ItIsSuspectedOnTheCamerasSideAlone) {
  for (const double aside : {0.0, 2.5, 3.5, 12.0}) {
    const std::optional<edge::RimPair> high = rims_of(seen_from(aside));
    ASSERT_TRUE(high) << aside;
    EXPECT_NEAR(high->high.line.t_mm(0.0), kHalf_mm, 0.02);
    EXPECT_NEAR(high->high.hidden_strip_px, widest_px(aside), 0.03) << aside;
    EXPECT_EQ(high->low.hidden_strip_px, 0.0);
    const std::optional<edge::RimPair> low = rims_of(seen_from(-aside));
    ASSERT_TRUE(low) << aside;
    EXPECT_NEAR(low->low.hidden_strip_px, widest_px(aside), 0.03) << aside;
    EXPECT_EQ(low->high.hidden_strip_px, 0.0);
  }
}

// A camera 12 mm aside sees 0.035 mm of the flat a mm: with a lower end 0.25 mm out, 7 mm down,
// the strip is seen for what it is.
TEST(HiddenStripProperty, WhereTheFlatsLowerEndIsSeenNothingIsHidden) {
  CrossProfile profile = seen_from(12.0);
  profile.borders.back() = {kHalf_mm, -0.18};
  profile.borders.push_back({kHalf_mm + 0.25, -0.17});
  const std::optional<edge::RimPair> rims = rims_of(profile);
  ASSERT_TRUE(rims);
  EXPECT_NEAR(rims->high.line.t_mm(0.0), kHalf_mm, 0.02);
  EXPECT_EQ(rims->high.hidden_strip_px, 0.0);
}

edge::RimPair read_rims(double high_strip_px, double low_strip_px) {
  edge::RimPair rims;
  rims.high.line = {kHalf_mm, 0.0}, rims.low.line = {-kHalf_mm, 0.0};
  rims.high.hidden_strip_px = high_strip_px, rims.low.hidden_strip_px = low_strip_px;
  rims.s_begin_mm = -35.0, rims.s_end_mm = 35.0;
  return rims;
}

double strip_u_mm(const edge::RimPair& rims,
                  const std::optional<edge::RimPair>& ricasso = std::nullopt) {
  return edge::fix_flats(rims, ricasso, seen_from(0.0).frame(), CrossProfile::kPxPerMm, 3.2, 1.4)
      .u_strip_mm;
}

/// RMS of a border's place in a strip of any width up to the widest, read anywhere in it.
double drawn_strip_rms_px(double widest_px) {
  std::mt19937_64 rng = seeded("HiddenStripDraws", 0);
  constexpr int kDraws = 200000;
  double sum = 0.0;
  for (int i = 0; i < kDraws; ++i) {
    const double place = widest_px * uniform(rng, 0.0, 1.0) * uniform(rng, 0.0, 1.0);
    sum += place * place;
  }
  return std::sqrt(sum / kDraws);
}

// The middle of two rims moves by half of what one of them is off.
TEST(HiddenStripProperty, TheMiddlesUncertaintyIsThatOfDrawnStrips) {
  constexpr double kStrip_px = 1.4;
  const double one = 0.5 * drawn_strip_rms_px(kStrip_px) / CrossProfile::kPxPerMm;
  EXPECT_EQ(strip_u_mm(read_rims(0.0, 0.0)), 0.0);
  EXPECT_NEAR(strip_u_mm(read_rims(kStrip_px, 0.0)), one, 0.01 * one);
  EXPECT_NEAR(strip_u_mm(read_rims(0.0, kStrip_px)), one, 0.01 * one);
  EXPECT_NEAR(strip_u_mm(read_rims(kStrip_px, kStrip_px)), std::sqrt(2.0) * one, 0.01 * one);
}

// Rims of a ricasso, carried along the blade, take over from the one with the strip.
TEST(HiddenStripProperty, ARicassoTakesSomeOfItAway) {
  edge::RimPair ricasso = read_rims(0.0, 0.0);
  ricasso.s_begin_mm = -60.0, ricasso.s_end_mm = -40.0;
  const edge::RimPair rims = read_rims(2.0, 0.0);
  EXPECT_LT(strip_u_mm(rims, ricasso), 0.9 * strip_u_mm(rims));
}

}  // namespace
}  // namespace evenbevel::test
