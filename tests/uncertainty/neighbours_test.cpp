#include "uncertainty/neighbours.hpp"

#include <cmath>
#include <vector>

#include <gtest/gtest.h>

#include "seeded.hpp"

namespace evenbevel {
namespace {

TEST(NeighboursClosedForm, ReadingsCountByTheLength) {
  EXPECT_DOUBLE_EQ(independent(40.0, 4.0), 10.0);
  EXPECT_DOUBLE_EQ(independent(1.0, 4.0), 1.0);
  EXPECT_DOUBLE_EQ(counted_as_one(0.5, 4.0), 8.0);
  EXPECT_DOUBLE_EQ(counted_as_one(5.0, 4.0), 1.0);
}

// However closely a length is read, as much is known of it.
TEST(NeighboursClosedForm, TheStepDoesNotMatter) {
  for (const double step : {0.25, 1.0, 2.0}) {
    const double readings = 60.0 / step;
    EXPECT_DOUBLE_EQ(readings / counted_as_one(step, 4.0), independent(60.0, 4.0)) << step;
  }
}

// Of a first-order autoregression, rho = 0.6: the mean of many varies by (1 + rho) / (1 - rho) = 4
// times as much as of independent readings.
TEST(NeighboursProperty, TheInflationIsThatOfTheMeanOfAnAutoregression) {
  std::mt19937_64 rng = test::seeded("NeighboursProperty", 0);
  std::vector<double> readings;
  double last = test::normal(rng), own = 0.0, lagged = 0.0;
  for (int i = 0; i < 20000; ++i) {
    const double next = 0.6 * last + 0.8 * test::normal(rng);
    own += next * next;
    lagged += next * last;
    readings.push_back(last = next);
  }
  EXPECT_NEAR(neighbours_inflation(own, lagged, 0.95), 4.0, 0.15);
  // Blocks of five hold (5 + 2 (4 rho + 3 rho^2 + 2 rho^3 + rho^4)) / 5 = 2.62 of it.
  EXPECT_NEAR(block_inflation(readings), std::sqrt(2.62), 0.04);
}

TEST(NeighboursBadInput, TooFewReadingsTellNothing) {
  EXPECT_EQ(block_inflation(std::vector<double>(19, 1.0)), 1.5);
}

}  // namespace
}  // namespace evenbevel
