#include "choil_view/edge_end.hpp"

#include <random>
#include <vector>

#include <gtest/gtest.h>

#include "border/levels_fit.hpp"
#include "seeded.hpp"

namespace evenbevel::choil {
namespace {

std::vector<ProfileSample> profile(double at_px, double step, double growth) {
  std::vector<ProfileSample> samples;
  for (double t = -9.0; t <= 8.0; t += 0.25) {
    const double taken =
        step * blurred_step(t - at_px, 0.8) + growth * blurred_ramp(t - at_px, 0.8);
    samples.push_back({t, 0.5 - taken, 3.0});
  }
  return samples;
}

TEST(EdgeEndClosedForm, ALandEndsWhereItsLightDoes) {
  const auto end = find_edge_end(profile(0.63, 0.1, 0.01), 0.8, 5.0, true);
  ASSERT_TRUE(end);
  EXPECT_NEAR(end->at_px, 0.63, 0.005);
  EXPECT_NEAR(end->step, 0.1, 1e-3);
  EXPECT_NEAR(end->growth, 0.01, 1e-3);
}

TEST(EdgeEndClosedForm, ASharpEdgeEndsWhereItsSidesMeet) {
  const auto end = find_edge_end(profile(-1.2, 0.0, 0.03), 0.8, 5.0, true);
  ASSERT_TRUE(end);
  EXPECT_NEAR(end->at_px, -1.2, 0.03);
}

TEST(EdgeEndClosedForm, TheLandBehindShowsAboveTheEndFace) {
  std::vector<ProfileSample> samples = profile(1.4, 0.1, 0.0);
  for (ProfileSample& sample : samples) sample.value -= 0.2 * blurred_step(sample.t_px + 3.1, 0.8);
  const auto end = find_edge_end(samples, 0.8, 5.0, true);
  ASSERT_TRUE(end);
  EXPECT_NEAR(end->at_px, 1.4, 0.05);
  EXPECT_NEAR(end->above_px, 4.5, 0.1);
  EXPECT_NEAR(end->step, 0.1, 0.01);
}

TEST(EdgeEndBadInput, PlainPaperHasNoEdge) {
  std::vector<ProfileSample> samples = profile(0.0, 0.0, 0.0);
  std::mt19937_64 rng = test::seeded("EdgeEndBadInput", 0);
  for (ProfileSample& sample : samples) sample.value += 0.002 * test::normal(rng);
  const auto end = find_edge_end(samples, 0.8, 5.0, true);
  EXPECT_TRUE(!end || end->u_px > 0.3);
}

}  // namespace
}  // namespace evenbevel::choil
