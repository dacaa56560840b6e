#include <cmath>
#include <vector>

#include <gtest/gtest.h>

#include "evenbevel/error.hpp"
#include "evenbevel/study.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

// Mean 6.36, scatter 0.01, four readings: bias 0.01, u 0.005, t = 2 with 3 dof; p = 0.1393
// (Student's t table: 2.353 at 0.10, 1.638 at 0.20; the value by an independent program).
TEST(BiasClosedForm, FourReadings) {
  const double d = 0.01 * std::sqrt(0.75);
  const std::vector<Measured> readings{{6.36 - d, 0}, {6.36 + d, 0}, {6.36 - d, 0}, {6.36 + d, 0}};
  const BiasResult result = bias_against(readings, {6.35, 0.0});
  EXPECT_NEAR(result.bias.value, 0.01, 1e-12);
  EXPECT_NEAR(result.bias.u, 0.005, 1e-12);
  EXPECT_NEAR(result.bias.dof, 3.0, 1e-9);
  EXPECT_NEAR(result.t, 2.0, 1e-9);
  EXPECT_NEAR(result.p, 0.1393, 0.00005);
  EXPECT_FALSE(result.seen);
}

TEST(BiasClosedForm, TheGaugesOwnUncertaintyCounts) {
  const std::vector<Measured> readings{{6.371, 0}, {6.369, 0}, {6.370, 0}};
  EXPECT_TRUE(bias_against(readings, {6.35, 0.0}).seen);
  EXPECT_FALSE(bias_against(readings, {6.35, 0.02}).seen);
}

TEST(BiasClosedForm, AgainstWhatTheReportsState) {
  const std::vector<Measured> readings{{6.371, 0.02}, {6.369, 0.02}, {6.370, 0.02}};
  EXPECT_TRUE(bias_against(readings, {6.35, 0.0}).within_stated);   // 0.02 against 0.039
  EXPECT_FALSE(bias_against(readings, {6.32, 0.0}).within_stated);  // 0.05
}

TEST(BiasClosedForm, OneReadingIsJudgedByItsOwnReport) {
  const BiasResult result = bias_against(std::vector<Measured>{{6.40, 0.02}}, {6.35, 0.0});
  EXPECT_NEAR(result.t, 2.5, 1e-9);
  EXPECT_TRUE(result.seen);
}

// No bias: seen in 5 of 100 studies by chance. 1,000 of them: 50 +- 21 (3 sigma).
TEST(BiasProperty, ChanceIsTakenForBiasOneTimeInTwenty) {
  int seen = 0;
  for (int number = 0; number < 1000; ++number) {
    std::mt19937_64 rng = seeded("BiasChance", number);
    std::vector<Measured> readings;
    for (int i = 0; i < 4; ++i) readings.push_back({6.35 + 0.01 * normal(rng), 0.0});
    seen += bias_against(readings, {6.35, 0.0}).seen ? 1 : 0;
  }
  EXPECT_NEAR(seen, 50, 21);
}

TEST(BiasBadInput, NothingToJudgeBy) {
  EXPECT_THROW(bias_against({}, {6.35, 0.0}), Error);
  EXPECT_THROW(bias_against(std::vector<Measured>{{6.40, 0.0}}, {6.35, 0.0}), Error);
}

}  // namespace
}  // namespace evenbevel::test
