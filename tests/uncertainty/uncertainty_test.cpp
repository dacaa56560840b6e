#include "evenbevel/uncertainty.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <vector>

#include <gtest/gtest.h>

#include "evenbevel/units.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

constexpr double kInfinite = std::numeric_limits<double>::infinity();

TEST(UncertaintyClosedForm, CausesAddAsTheRootSumOfSquares) {
  const std::vector<BudgetLine> budget{{"noise", 3.0}, {"scale", 4.0}};
  const Measured combined = combine(-1.5, budget);
  EXPECT_DOUBLE_EQ(combined.value, -1.5);
  EXPECT_DOUBLE_EQ(combined.u, 5.0);
  EXPECT_EQ(combined.dof, kInfinite);
}

TEST(UncertaintyClosedForm, OneCauseKeepsItsDegreesOfFreedom) {
  const std::vector<BudgetLine> budget{{"noise", 0.0123, 7.0}};
  EXPECT_NEAR(combine(0.0, budget).dof, 7.0, 1e-12);
}

TEST(UncertaintyClosedForm, EqualCausesAddTheirDegreesOfFreedom) {
  const std::vector<BudgetLine> budget{{"left", 0.5, 6.0}, {"right", 0.5, 6.0}};
  EXPECT_NEAR(combine(0.0, budget).dof, 12.0, 1e-12);
}

TEST(UncertaintyClosedForm, NoCausesGiveACertainValue) {
  const Measured combined = combine(2.0, {});
  EXPECT_EQ(combined.u, 0.0);
  EXPECT_EQ(combined.dof, kInfinite);
  EXPECT_EQ(U95(combined), 0.0);
}

TEST(UncertaintyClosedForm, TinyAndHugeUnitsGiveTheSameDegreesOfFreedom) {
  for (const double unit : {1e-120, 1.0, 1e120}) {
    const std::vector<BudgetLine> budget{{"a", 1.0 * unit, 4.0}, {"b", 2.0 * unit, 9.0}};
    EXPECT_NEAR(combine(0.0, budget).dof, 25.0 / (1.0 / 4.0 + 16.0 / 9.0), 1e-9);
  }
}

// By hand: what all places share stays the mean of its sizes, 3; of what only places within 4 mm
// share, 40 mm hold ten, and the root mean square of 1 and 7 is 5.
TEST(UncertaintyClosedForm, InAMeanOnlyWhatNearPlacesShareAveragesOut) {
  const auto at = [](double value, double whole, double near) {
    return combine(value, {{"light", whole}, {.cause = "noise", .u = near, .shared_mm = 4.0}});
  };
  const std::vector<Measured> places = {at(0.1, 2.0, 1.0), at(0.3, 4.0, 7.0)};
  const Measured mean = mean_along(places, 40.0);
  EXPECT_DOUBLE_EQ(mean.value, 0.2);
  ASSERT_EQ(mean.budget.size(), 2U);
  EXPECT_DOUBLE_EQ(mean.budget[0].u, 3.0);
  EXPECT_DOUBLE_EQ(mean.budget[1].u, 5.0 / std::sqrt(10.0));
  EXPECT_DOUBLE_EQ(mean.u, std::hypot(3.0, 5.0 / std::sqrt(10.0)));
  EXPECT_DOUBLE_EQ(mean_along(places, 2.0).budget[1].u, 5.0) << "nearer than one length: one place";
}

TEST(UncertaintyClosedForm, AMeansCausesAreThoseOfAllPlaces) {
  const std::vector<Measured> two = {combine(1.0, {{"light", 0.2}, {"lens", 0.4}}),
                                     combine(1.0, {{"lens", 0.2}, {"burr", 0.6}})};
  const Measured mean = shared_mean(two);
  ASSERT_EQ(mean.budget.size(), 3U);
  EXPECT_DOUBLE_EQ(mean.budget[0].u, 0.1);
  EXPECT_DOUBLE_EQ(mean.budget[1].u, 0.3);
  EXPECT_DOUBLE_EQ(mean.budget[2].u, 0.3);
}

TEST(UncertaintyClosedForm, BudgetsFollowTheirValues) {
  const Measured one = combine(-0.5, {{"noise", 0.3, 8.0}, {"scale", 0.4}});
  const Measured twice = times(-2.0, one);
  EXPECT_DOUBLE_EQ(twice.value, 1.0);
  EXPECT_DOUBLE_EQ(twice.u, 1.0);
  EXPECT_DOUBLE_EQ(twice.budget[0].u, 0.6);
  EXPECT_EQ(twice.dof, one.dof);
  const Measured difference = apart(one, combine(0.5, {{"noise", 0.4, 5.0}, {"scale", 0.3}}));
  EXPECT_DOUBLE_EQ(difference.value, -1.0);
  EXPECT_DOUBLE_EQ(difference.budget[0].u, 0.5);
  EXPECT_EQ(difference.budget[0].dof, 5.0);
  EXPECT_DOUBLE_EQ(with_line(difference, {"place", 0.1}).u, std::sqrt(0.51));
}

// With one degree of freedom t is the Cauchy distribution: k = tan(pi P / 2). With two:
// k = P sqrt(2 / (1 - P^2)). Both by integrating the density.
TEST(UncertaintyClosedForm, CoverageFactorsOfOneAndTwoDegreesOfFreedom) {
  for (const double probability : {0.5, 0.6827, 0.95, 0.99}) {
    const double one = std::tan(0.5 * kPi * probability);
    const double two = probability * std::sqrt(2.0 / (1.0 - probability * probability));
    EXPECT_NEAR(coverage_factor(1.0, probability), one, 1e-9 * one);
    EXPECT_NEAR(coverage_factor(2.0, probability), two, 1e-9 * two);
  }
}

TEST(UncertaintyClosedForm, InfiniteDegreesOfFreedomAreTheNormalDistribution) {
  // erf(k / sqrt 2) = P is the definition.
  for (const double dof : {kInfinite, 1e12}) {
    EXPECT_NEAR(std::erf(coverage_factor(dof) / std::sqrt(2.0)), 0.95, 1e-9);
  }
  EXPECT_NEAR(coverage_factor(9.9e8), coverage_factor(kInfinite), 1e-8);
}

TEST(UncertaintyClosedForm, DegreesOfFreedomAreTruncatedNotRounded) {
  EXPECT_EQ(coverage_factor(16.75), coverage_factor(16.0));
  EXPECT_EQ(coverage_factor(std::nextafter(16.0, 0.0)), coverage_factor(16.0));
  EXPECT_GT(coverage_factor(15.99), coverage_factor(16.0));
}

TEST(UncertaintyProperty, CoverageShrinksTowardTheNormalFactor) {
  double previous = kInfinite;
  for (int dof = 1; dof < 200; ++dof) {
    const double k = coverage_factor(dof);
    EXPECT_LT(k, previous);
    EXPECT_GT(k, coverage_factor(kInfinite));
    previous = k;
  }
}

// The mean of n normal readings, u from their own scatter: the t interval holds the truth in 95 %.
TEST(UncertaintyProperty, IntervalsHoldTheTruthAsOftenAsTheySay) {
  constexpr int kScenes = 20000;
  constexpr int kReadings = 4;
  int held = 0;
  for (int scene = 0; scene < kScenes; ++scene) {
    std::mt19937_64 rng = test::seeded("UncertaintyProperty", scene);
    std::array<double, kReadings> readings{};
    std::generate(readings.begin(), readings.end(), [&rng] { return test::normal(rng); });
    double mean = 0.0, sum2 = 0.0;
    for (const double reading : readings) mean += reading / kReadings;
    for (const double reading : readings) sum2 += (reading - mean) * (reading - mean);
    const double u = std::sqrt(sum2 / (kReadings - 1.0) / kReadings);
    if (std::abs(mean) <= U95({.value = mean, .u = u, .dof = kReadings - 1.0})) ++held;
  }
  // 4 standard deviations of a binomial share. The normal factor 1.96 would hold only 86 %.
  EXPECT_NEAR(static_cast<double>(held) / kScenes, 0.95, 4.0 * std::sqrt(0.95 * 0.05 / kScenes));
}

#ifndef NDEBUG
TEST(UncertaintyBadInput, NonsenseProbabilitiesAreAProgrammersMistake) {
  EXPECT_DEATH(coverage_factor(5.0, 1.0), "probability");
  EXPECT_DEATH(coverage_factor(0.5), "dof");
}
#endif

}  // namespace
}  // namespace evenbevel
