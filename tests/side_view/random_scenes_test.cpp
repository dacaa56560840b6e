#include <cmath>

#include <gtest/gtest.h>

#include "trial.hpp"

namespace evenbevel::test {
namespace {

constexpr int kScenes = 15;  // 4 s each; more of them: bench_side_scenes

TEST(SideOfRandomScenes, ErrorsStayWithinTheirIntervals) {
  std::vector<SideTrial> trials;
  int refused = 0, stations = 0, covered = 0;
  for (int number = 0; number < kScenes; ++number) {
    trials.push_back(run_side_trial(number));
    refused += trials.back().refused ? 1 : 0;
    stations += trials.back().stations, covered += trials.back().covered;
  }
  EXPECT_EQ(refused, 0);
  EXPECT_GT(covered, 0.85 * stations);
  const ReadingTally height = tally(trials, "bevel height");
  EXPECT_LT(height.rms, 0.09);
  // At 7 to 8 px/mm: neither border may stand off its place in all scenes alike.
  EXPECT_LT(std::abs(tally(trials, "edge outline").mean), 0.01);
  EXPECT_LT(std::abs(tally(trials, "bevel line").mean), 0.02);
  EXPECT_GE(height.held, 0.95);
  EXPECT_GE(tally(trials, "height difference").held, 0.95);
  const ReadingTally mismatch = tally(trials, "plunge mismatch");
  EXPECT_GT(mismatch.readings, 0);
  EXPECT_EQ(mismatch.held, 1.0);
  const ReadingTally angle = tally(trials, "plunge angle");
  EXPECT_GT(angle.readings, 0);
  EXPECT_EQ(angle.held, 1.0);
  EXPECT_LT(angle.rms, 0.0175);  // a degree
}

}  // namespace
}  // namespace evenbevel::test
