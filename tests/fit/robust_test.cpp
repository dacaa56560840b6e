#include <array>
#include <cmath>
#include <vector>

#include <gtest/gtest.h>

#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

TEST(RobustClosedForm, MedianOfOddAndEvenCounts) {
  EXPECT_EQ(median(std::array{3.0}), 3.0);
  EXPECT_EQ(median(std::array{5.0, -1.0, 2.0}), 2.0);
  EXPECT_EQ(median(std::array{4.0, 1.0, 3.0, 2.0}), 2.5);
  EXPECT_EQ(median(std::array{7.0, 7.0}), 7.0);
}

TEST(RobustClosedForm, ScatterIsTheMedianDistanceForNormalReadings) {
  // Distances 2 1 0 1 8: median 1; 1 / 0.6744898 is the normal quartile's inverse.
  EXPECT_NEAR(mad_sigma(std::array{-2.0, -1.0, 0.0, 1.0, 8.0}, 0.0), 1.0 / 0.67448975, 1e-7);
}

TEST(RobustClosedForm, AlikeReadingsHaveNoScatter) {
  const Location location = robust_location(std::array{2.5, 2.5, 2.5, 2.5, 9.0});
  EXPECT_EQ(location.value, 2.5);
  EXPECT_EQ(location.u, 0.0);
  EXPECT_EQ(location.used, 4);
}

TEST(RobustClosedForm, AWildReadingMovesNothing) {
  const std::array near{1.0, 1.1, 0.9, 1.05, 0.95, 1.02, 0.98, 3.0};
  const std::array far{1.0, 1.1, 0.9, 1.05, 0.95, 1.02, 0.98, 1e9};
  EXPECT_DOUBLE_EQ(robust_location(near).value, robust_location(far).value);
  EXPECT_EQ(robust_location(far).used, 7);
}

struct Spread {
  double z_rms = 0.0;
  double error_rms = 0.0;
};

Spread spread_of_locations(int scenes, int readings, double wild_share) {
  double sum_z2 = 0.0, sum_e2 = 0.0;
  for (int scene = 0; scene < scenes; ++scene) {
    std::mt19937_64 rng = test::seeded("RobustProperty", scene);
    std::vector<double> values;
    for (int i = 0; i < readings; ++i) {
      const bool wild = test::uniform(rng, 0.0, 1.0) < wild_share;
      values.push_back(0.7 + 0.02 * test::normal(rng) + (wild ? 5.0 : 0.0));
    }
    const Location location = robust_location(values);
    sum_z2 += std::pow((location.value - 0.7) / location.u, 2);
    sum_e2 += std::pow(location.value - 0.7, 2);
  }
  return {std::sqrt(sum_z2 / scenes), std::sqrt(sum_e2 / scenes)};
}

TEST(RobustProperty, StatedUncertaintyIsTheSpreadOverScenes) {
  // 3 / sqrt(2 x 2000) = 0.05 from the number of scenes, and t with about 39 dof: 1.03.
  EXPECT_NEAR(spread_of_locations(2000, 40, 0.0).z_rms, 1.03, 0.06);
  EXPECT_NEAR(spread_of_locations(2000, 40, 0.2).z_rms, 1.03, 0.08);  // fewer good readings
}

TEST(RobustProperty, NormalReadingsLoseAboutFivePercent) {
  // Variance 1 / 0.95 of the mean's; the 2000 scenes leave 5 % on the deviation.
  const double mean_error = 0.02 / std::sqrt(40.0);
  EXPECT_NEAR(spread_of_locations(2000, 40, 0.0).error_rms / mean_error, std::sqrt(1.0 / 0.95),
              0.05);
}

TEST(RobustBadInput, OneReadingIsTooFew) { EXPECT_THROW(robust_location(std::array{1.0}), Error); }

}  // namespace
}  // namespace evenbevel
