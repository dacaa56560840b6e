// The claim to earn, over random scenes with known truth: the offset is read as well as promised,
// the 95 % intervals hold it, and they are no wider than needed. Here: how far that has come.

#include <vector>

#include <gtest/gtest.h>

#include "trial.hpp"

namespace evenbevel::test {
namespace {

constexpr int kScenesAStage = 20;  // a stage; 0.6 s each

std::vector<Trial> trials_of(SceneStage stage, int scenes = kScenesAStage) {
  std::vector<Trial> trials;
  for (int number = 0; number < scenes; ++number) trials.push_back(run_trial(stage, number));
  return trials;
}

// The scenes are lit as shops are: one lamp, tubes, a window, soft light, a phone's picture chain
// in a quarter of them. What is reached in them (bench_adverse has more) is well short of what is
// asked, which is 95 % inside, RMS 0.010 mm, and few refused: the limits below hold the ground that
// is won, and are to be drawn in as it grows.
void expect_honest_intervals(const Tally& offset) { EXPECT_GE(offset.held, 0.70); }

void expect_few_refusals(const Tally& offset, double most_share = 0.6) {
  EXPECT_LE(offset.refused, most_share * offset.trials);
  EXPECT_LE(offset.wrong_stage, offset.trials / 10);
}

TEST(EdgeViewProperty, GroundEdgesOfRandomScenes) {
  const std::vector<Trial> trials = trials_of(SceneStage::ground);
  const Tally offset = tally(trials, Quantity::offset);
  expect_honest_intervals(offset);
  expect_few_refusals(offset);
  EXPECT_LT(offset.rms, 0.050);
  const Tally plunge = tally(trials, Quantity::plunge_mismatch);
  EXPECT_GT(plunge.stations, 0);
  EXPECT_GE(plunge.held, 0.85);
  EXPECT_LT(plunge.rms, 0.06);
  EXPECT_LT(plunge.median_u95, 0.12);
  for (const Quantity along : {Quantity::land_taper, Quantity::bow}) {
    const Tally one = tally(trials, along);
    EXPECT_GT(one.stations, 0);
    EXPECT_GE(one.held, 0.85);
    EXPECT_LT(one.rms, 0.025);
  }
}

TEST(EdgeViewProperty, ScribeLinesOfRandomScenes) {
  std::vector<Trial> trials = trials_of(SceneStage::scribed_dye, kScenesAStage / 2);
  const std::vector<Trial> bare = trials_of(SceneStage::scribed_bare, kScenesAStage / 2);
  trials.insert(trials.end(), bare.begin(), bare.end());
  const Tally offset = tally(trials, Quantity::offset);
  expect_honest_intervals(offset);
  expect_few_refusals(offset);
  EXPECT_LT(offset.rms, 0.025);
}

TEST(EdgeViewProperty, BevelledBladesOfRandomScenes) {
  const std::vector<Trial> trials = trials_of(SceneStage::bevelled);
  const Tally offset = tally(trials, Quantity::offset);
  expect_honest_intervals(offset);
  expect_few_refusals(offset, 0.7);  // Both plunge lines must show.
  EXPECT_LT(offset.rms, 0.070);
}

}  // namespace
}  // namespace evenbevel::test
