#include "border/levels_fit.hpp"

#include <cmath>
#include <random>
#include <vector>

#include <gtest/gtest.h>

#include "seeded.hpp"

namespace evenbevel {
namespace {

std::vector<ProfileSample> sampled(const LevelsModel& model, double from_px, double to_px) {
  std::vector<ProfileSample> samples;
  for (double t = from_px; t <= to_px; t += 0.25) samples.push_back({t, model.value(t), 1.0});
  return samples;
}

TEST(LevelsFitClosedForm, EndFaceWithTheBladeBehindComesBack) {
  const LevelsModel truth{{0.0, 6.0, 11.0}, {0.5, 0.05, 0.3, 0.5}, {0.7, 0.7, 2.0}};
  LevelsModel start = truth;
  start.border_px = {0.8, 5.1, 12.0};
  start.level = {0.4, 0.1, 0.2, 0.4};
  const LevelsFit fit = fit_levels(sampled(truth, -6.0, 20.0), start, {}, 0.003);
  ASSERT_TRUE(fit.converged);
  EXPECT_NEAR(fit.model.border_px[0], 0.0, 1e-4);
  EXPECT_NEAR(fit.model.border_px[1], 6.0, 1e-4);
}

TEST(LevelsFitClosedForm, AKinkBeforeASoftSlopeComesBack) {
  LevelsModel truth{{1.3}, {0.05, 0.07}, {0.7}};
  truth.has_ramp = true;
  truth.ramp_per_px = 0.03;
  LevelsModel start = truth;
  start.border_px = {1.0};
  start.ramp_per_px = 0.02;
  const LevelsFit fit = fit_levels(sampled(truth, -6.0, 5.0), start, {}, 0.003);
  ASSERT_TRUE(fit.converged);
  EXPECT_NEAR(fit.model.border_px[0], 1.3, 1e-3);
}

// A strip of one pixel shows no level of its own: with it known, the width follows from the light
// it takes away; the light alone leaves the product of the two only.
TEST(LevelsFitClosedForm, AStripThinnerThanItsBlurIsReadWithItsLevelKnown) {
  const LevelsModel truth{{-0.5, 0.5}, {0.5, 0.05, 0.5}, {0.8, 0.8}};
  LevelsModel start = truth;
  start.border_px = {-1.0, 1.1};
  const LevelsExpected expected{{{}, {0.05, 0.01}, {}}, {}};
  const LevelsFit fit = fit_levels(sampled(truth, -6.0, 6.0), start, expected, 0.003);
  ASSERT_TRUE(fit.converged);
  EXPECT_NEAR(fit.model.border_px[1] - fit.model.border_px[0], 1.0, 0.01);
}

TEST(LevelsFitProperty, StatedUncertaintyIsTheSpread) {
  constexpr int kDraws = 500;
  const LevelsModel truth{{0.2}, {0.5, 0.05}, {0.7}};
  double sum_z2 = 0.0;
  for (int draw = 0; draw < kDraws; ++draw) {
    std::mt19937_64 rng = test::seeded("LevelsFitProperty", draw);
    std::vector<ProfileSample> samples = sampled(truth, -5.0, 5.0);
    for (ProfileSample& sample : samples) sample.value += 0.004 * test::normal(rng);
    LevelsModel start = truth;
    start.border_px = {0.0};
    const LevelsFit fit = fit_levels(samples, start, {}, 0.004);
    ASSERT_TRUE(fit.converged);
    sum_z2 += std::pow((fit.model.border_px[0] - 0.2) / fit.u_px[0], 2);
  }
  // 3 / sqrt(2 * 500) is 0.095; u is never stated below the noise given, which widens it a little.
  EXPECT_NEAR(std::sqrt(sum_z2 / kDraws), 1.0, 0.12);
}

}  // namespace
}  // namespace evenbevel
