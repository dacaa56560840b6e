#include "evenbevel/monte_carlo.hpp"

#include <cmath>
#include <limits>

#include <gtest/gtest.h>

#include "evenbevel/error.hpp"

namespace evenbevel {
namespace {

const Model kSum = [](const Eigen::VectorXd& x) { return Eigen::VectorXd::Constant(1, x.sum()); };

struct Moments {
  double mean, u;
};

Moments spread(const Distribution& distribution) {
  constexpr int kTrials = 200000;
  const MonteCarloResult drawn = monte_carlo(kSum, {{distribution}}, {.trials = kTrials}).front();
  return {drawn.mean, drawn.u};
}

// Standard deviations of the distributions over their half-width (JCGM 101, table 1). The kurtosis
// of none of them exceeds the normal one, so u scatters by at most u / sqrt(2 N) = 0.16 %.
TEST(MonteCarloClosedForm, DrawsHaveTheStatedSpread) {
  for (const Distribution& d : {Distribution::normal(3.0, 0.5), Distribution::rectangular(1.0, 5.0),
                                Distribution::triangular(1.0, 5.0), Distribution::arcsine(1.0, 5.0),
                                Distribution::inexact_limits(1.0, 5.0, 0.8)}) {
    const Moments drawn = spread(d);
    EXPECT_NEAR(drawn.mean, 3.0, 5.0 * d.u() / std::sqrt(200000.0));
    EXPECT_NEAR(drawn.u, d.u(), 0.01 * d.u());
  }
}

// Student's t has variance dof / (dof - 2); for 10 degrees of freedom kurtosis 4 (from the
// density), so u scatters by u sqrt(3 / (4 N)) = 0.2 %.
TEST(MonteCarloClosedForm, StudentsTIsWiderThanItsScale) {
  EXPECT_NEAR(spread(Distribution::student(0.0, 2.0, 10.0)).u, 2.0 * std::sqrt(1.25), 0.025);
}

TEST(MonteCarloClosedForm, CorrelatedNormalsAddAsTheirCovarianceSays) {
  ModelInputs inputs{{Distribution::normal(0.0, 3.0), Distribution::normal(0.0, 4.0)}};
  inputs.correlation.resize(2, 2);
  inputs.correlation << 1.0, -0.5, -0.5, 1.0;
  const double u = std::sqrt(9.0 + 16.0 - 12.0);
  EXPECT_NEAR(monte_carlo(kSum, inputs, {.trials = 100000}).front().u, u, 0.02 * u);
  EXPECT_NEAR(law_of_propagation(kSum, inputs).front().measured.u, u, 1e-9);
}

TEST(MonteCarloClosedForm, TheLawFindsSensitivitiesAndDegreesOfFreedom) {
  const Model model = [](const Eigen::VectorXd& x) {
    return Eigen::VectorXd::Constant(1, x(0) * x(0) - 2.0 * x(1));
  };
  const LawResult law =
      law_of_propagation(
          model, {{Distribution::student(3.0, 0.1, 9.0), Distribution::rectangular(-0.3, 0.3)}})
          .front();
  EXPECT_DOUBLE_EQ(law.measured.value, 9.0);
  EXPECT_NEAR(law.sensitivities(0), 6.0, 1e-9);
  EXPECT_NEAR(law.sensitivities(1), -2.0, 1e-9);
  const double u = std::hypot(0.6, 2.0 * 0.3 / std::sqrt(3.0));
  EXPECT_NEAR(law.measured.u, u, 1e-9);
  EXPECT_NEAR(law.measured.dof, 9.0 * std::pow(u / 0.6, 4), 1e-6);
}

// Of one standard normal x: x^2 has variance 2, x^3 variance 15; the series to the second order
// gives 2 for the first, and nothing for x^3, whose f_i is zero at the estimate.
TEST(MonteCarloClosedForm, SecondOrderTermsOfASquare) {
  const Model model = [](const Eigen::VectorXd& x) {
    return Eigen::Vector2d(x(0) * x(0), std::pow(x(0), 3));
  };
  const ModelInputs inputs{{Distribution::normal(0.0, 1.0)}};
  const std::vector<LawResult> law = law_of_propagation(model, inputs, LawOrder::second);
  EXPECT_NEAR(law[0].measured.u, std::sqrt(2.0), 1e-6);
  EXPECT_NEAR(law[1].measured.u, 0.0, 1e-2);
}

TEST(MonteCarloClosedForm, ToleranceIsHalfOfTheLastDigit) {
  EXPECT_NEAR(numerical_tolerance(0.00432, 1), 0.0005, 1e-12);
  EXPECT_NEAR(numerical_tolerance(0.00432, 2), 0.00005, 1e-13);
  EXPECT_NEAR(numerical_tolerance(101.0, 2), 5.0, 1e-9);
  EXPECT_NEAR(numerical_tolerance(0.0996, 2), 0.005, 1e-12);  // 0.10, not 0.100
}

TEST(MonteCarloProperty, TheSameSeedGivesTheSameNumbers) {
  const ModelInputs inputs{{Distribution::normal(0.0, 1.0)}};
  const auto mean = [&](std::uint64_t seed) {
    return monte_carlo(kSum, inputs, {.trials = 100, .seed = seed}).front().mean;
  };
  EXPECT_EQ(mean(4), mean(4));
  EXPECT_NE(mean(4), mean(5));
}

// The ends' stated uncertainty against their spread between seeds.
TEST(MonteCarloProperty, EndsAreAsUncertainAsTheySay) {
  const ModelInputs inputs{{Distribution::normal(0.0, 1.0)}};
  double sum2 = 0.0, stated2 = 0.0;
  constexpr int kSeeds = 200;
  for (std::uint64_t seed = 0; seed < kSeeds; ++seed) {
    const MonteCarloResult r = monte_carlo(kSum, inputs, {.trials = 4000, .seed = seed}).front();
    sum2 += std::pow(r.symmetric.high - 1.959964, 2);
    stated2 += std::pow(r.symmetric_u.high, 2);
  }
  EXPECT_NEAR(std::sqrt(sum2 / stated2), 1.0, 0.2);  // 3 standard deviations: ten parts each
}

TEST(MonteCarloProperty, ALinearModelAgreesAndASquareDiffers) {
  const Model model = [](const Eigen::VectorXd& x) { return Eigen::Vector2d(x(0), x(0) * x(0)); };
  const ModelInputs inputs{{Distribution::normal(0.0, 1.0)}};
  const auto law = law_of_propagation(model, inputs);
  const auto drawn = monte_carlo(model, inputs, {.trials = 20000});
  EXPECT_EQ(compare(law[0].measured, drawn[0]).check, LawCheck::agrees);
  EXPECT_EQ(compare(law[1].measured, drawn[1]).check, LawCheck::differs);
  // To two digits, 200 trials cannot tell.
  const auto few = monte_carlo(model, inputs, {.trials = 200});
  EXPECT_EQ(compare(law[0].measured, few[0], 2).check, LawCheck::unresolved);
}

TEST(MonteCarloBadInput, TooFewTrialsAreRefused) {
  EXPECT_THROW(monte_carlo(kSum, {{Distribution::normal(0.0, 1.0)}}, {.trials = 39}), Error);
  const Model never = [](const Eigen::VectorXd&) {
    return Eigen::VectorXd::Constant(1, std::numeric_limits<double>::quiet_NaN());
  };
  EXPECT_THROW(monte_carlo(never, {{Distribution::normal(0.0, 1.0)}}, {.trials = 1000}), Error);
}

}  // namespace
}  // namespace evenbevel
