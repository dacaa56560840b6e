// Sub-pixel location of steps and lines against values that come from outside of the code: vectors
// of the normal distribution integrated over pixels, and the Cramer-Rao bound.

#include <algorithm>
#include <array>
#include <cmath>
#include <random>
#include <vector>

#include <gtest/gtest.h>

#include "evenbevel/trace.hpp"
#include "evenbevel/units.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

using test::normal;
using test::seeded;
using test::uniform;

// --- Vectors ------------------------------------------------------------------------------------

struct StepVector {
  double blur_px;
  std::array<double, 11> value;  ///< Pixels -5..5 of a step from 0 to 1 at 0.3.
};

// Closed form: the normal distribution function integrated over the pixel, sigma [G((i + 1/2 - x0)
// / sigma) - G((i - 1/2 - x0) / sigma)] with G(t) = t Phi(t) + phi(t); evaluated with SciPy 1.10.
const std::array<StepVector, 4> kSteps{{
    {0.5, {0, 0, 0, 0.000020, 0.011601, 0.303598, 0.886141, 0.998640, 0.999999, 1, 1}},
    {0.8,
     {0, 0, 0.000047, 0.003341, 0.063265, 0.362423, 0.794370, 0.977274, 0.999286, 0.999994, 1}},
    {1.0,
     {0, 0.000017, 0.000744, 0.013514, 0.105932, 0.386687, 0.749208, 0.948785, 0.995298, 0.999818,
      0.999997}},
    {1.5,
     {0.000259, 0.002432, 0.015363, 0.066080, 0.197406, 0.422165, 0.676586, 0.867099, 0.961435,
      0.992297, 0.998958}},
}};

TEST(TraceOutside, BlurredStepFollowsTheIntegratedNormalDistribution) {
  for (const StepVector& vector : kSteps) {
    for (int i = -5; i <= 5; ++i) {
      // Half of the last digit, and a little for the rounding of the table itself.
      EXPECT_NEAR(blurred_step(i - 0.3, vector.blur_px),
                  vector.value[static_cast<std::size_t>(i + 5)], 6e-7)
          << "sigma " << vector.blur_px << " pixel " << i;
    }
  }
}

TEST(TraceOutside, StepVectorsAreReadBackAsThreeTenthsOfAPixel) {
  for (const StepVector& vector : kSteps) {
    std::vector<ProfileSample> samples;
    for (int i = -5; i <= 5; ++i) {
      samples.push_back(
          {.t_px = static_cast<double>(i), .value = vector.value[static_cast<std::size_t>(i + 5)]});
    }
    const ProfileFit fit = fit_step(samples, 0.0, 0.9);
    ASSERT_TRUE(fit.converged);
    EXPECT_NEAR(fit.model.positions_px[0], 0.3, 1e-5);  // six decimals in the vector
    EXPECT_NEAR(fit.model.blur_px, vector.blur_px, 1e-4);
  }
}

// The same closed form, a bar of width w centred on 0.25, sigma 0.8, pixels -4..4; SciPy 1.10.
TEST(TraceOutside, ABarIsTheDifferenceOfTwoSteps) {
  const std::array<double, 9> two{0.000060, 0.003991, 0.070861, 0.380650, 0.739769,
                                  0.595642, 0.188731, 0.019713, 0.000579};
  const std::array<double, 9> three{0.000579, 0.019717, 0.189306, 0.614780, 0.909362,
                                    0.806698, 0.384581, 0.070920, 0.003991};
  for (int i = -4; i <= 4; ++i) {
    ProfileModel bar{.positions_px = {0.25},
                     .parts = {{.shape = ProfilePart::Shape::line, .width_px = 2, .amplitude = 1}},
                     .blur_px = 0.8};
    EXPECT_NEAR(bar.value(i), two[static_cast<std::size_t>(i + 4)], 6e-7);
    bar.parts[0].width_px = 3.0;
    EXPECT_NEAR(bar.value(i), three[static_cast<std::size_t>(i + 4)], 6e-7);
  }
}

// --- Cramer-Rao ---------------------------------------------------------------------------------

constexpr int kHalfWindow = 15;
constexpr double kNoise = 0.02;  // of the step's height: A / s_n = 50

/// Phi, apart from the code under test.
double cdf(double t) { return 0.5 * std::erfc(-t / std::sqrt(2.0)); }

/// d I / d x0 of a unit step: the blurred edge between the pixel's two sides.
double step_slope(double i, double at_px, double blur_px) {
  return -(cdf((i + 0.5 - at_px) / blur_px) - cdf((i - 0.5 - at_px) / blur_px));
}

double line_slope(double i, double at_px, double width_px, double blur_px) {
  return step_slope(i, at_px - 0.5 * width_px, blur_px) -
         step_slope(i, at_px + 0.5 * width_px, blur_px);
}

struct Trials {
  double bias_px = 0.0, sd_px = 0.0, mean_u_px = 0.0;
};

template <class Truth, class Fit>
Trials run_trials(const char* name, int count, Truth truth, Fit fit) {
  Trials trials;
  double sum_squares = 0.0;
  for (int trial = 0; trial < count; ++trial) {
    std::mt19937_64 rng = seeded(name, trial);
    const double at_px = uniform(rng, -0.5, 0.5);
    std::vector<ProfileSample> samples;
    for (int i = -kHalfWindow; i <= kHalfWindow; ++i) {
      samples.push_back(
          {.t_px = static_cast<double>(i), .value = 0.2 + truth(i, at_px) + kNoise * normal(rng)});
    }
    const ProfileFit found = fit(samples, at_px + uniform(rng, -0.7, 0.7));
    EXPECT_TRUE(found.converged);
    const double miss = found.model.positions_px[0] - at_px;
    trials.bias_px += miss / count;
    trials.mean_u_px += found.u_px(0) / count;
    sum_squares += miss * miss;
  }
  trials.sd_px = std::sqrt(sum_squares / count - trials.bias_px * trials.bias_px);
  return trials;
}

/// Independent form of the blurred step, for the trials' truth.
double unit_step(double t, double blur_px) {
  const auto ramp = [](double u) {
    return u * cdf(u) + std::exp(-0.5 * u * u) / std::sqrt(2.0 * kPi);
  };
  return blur_px * (ramp((t + 0.5) / blur_px) - ramp((t - 0.5) / blur_px));
}

struct BoundRow {
  double blur_px, exact, nuisance;  ///< In units of s_n / A, mean over the phase.
};

// A. Gatherer, "The Cramer-Rao Bound for Discrete-Time Edge Position Estimation", Stanford
// CSL-TR-93-560, 1993; R. Kakarala and A. Hero, IEEE PAMI 14 (1992), 777-781: s_n^2 / sum
// (dI/dx)^2. Values computed from that formula; the last column with amplitude, level and blur
// unknown too.
constexpr std::array<BoundRow, 5> kBounds{{{0.5, 1.440, 1.465},
                                           {0.8, 1.737, 1.78},
                                           {1.0, 1.921, 1.982},
                                           {1.5, 2.327, 2.438},
                                           {2.0, 2.676, 2.849}}};

TEST(TraceOutside, TheBoundIsThatOfTheFisherInformation) {
  for (const BoundRow& row : kBounds) {
    double mean = 0.0;
    for (int phase = 0; phase < 100; ++phase) {
      double information = 0.0;
      for (int i = -30; i <= 30; ++i) {
        const double slope = step_slope(i, phase / 100.0, row.blur_px);
        information += slope * slope;
      }
      mean += 0.01 / std::sqrt(information);
    }
    // Below 0.8 px the bound swings by 3 % with the phase, and so the mean with the phases taken.
    EXPECT_NEAR(mean, row.exact, row.blur_px < 0.8 ? 0.006 : 0.001) << "sigma " << row.blur_px;
  }
}

TEST(TraceOutside, StepsAreLocatedAtTheCramerRaoBound) {
  constexpr int kTrials = 1500;
  for (const BoundRow& row : kBounds) {
    const Trials trials = run_trials(
        "StepBound", kTrials,
        [&](int i, double at_px) { return unit_step(i - at_px, row.blur_px); },
        [&](const std::vector<ProfileSample>& samples, double start_px) {
          return fit_step(samples, start_px, 1.0);
        });
    const double bound_px = kNoise * row.nuisance;
    EXPECT_LT(trials.sd_px, 1.25 * bound_px) << "sigma " << row.blur_px;
    EXPECT_GT(trials.sd_px, 0.93 * kNoise * row.exact) << "below the bound: the trials are wrong";
    EXPECT_LT(std::abs(trials.bias_px), 0.01);
    EXPECT_LT(std::abs(trials.bias_px), 4.0 * trials.sd_px / std::sqrt(1.0 * kTrials));
    // What the fit says of itself: 1,500 trials know the spread to 2 %; Huber weights flatter it
    // by a little.
    EXPECT_NEAR(trials.mean_u_px / trials.sd_px, 1.0, 0.10) << "sigma " << row.blur_px;
  }
}

TEST(TraceOutside, LinesAreLocatedAtTheCramerRaoBound) {
  constexpr int kTrials = 1500;
  for (const double blur_px : {0.6, 0.8, 1.2}) {
    for (const double width_px : {0.5, 1.5, 3.0}) {
      // Contrast such that the line's peak stands 50 noise sigmas out.
      const double peak = unit_step(0.5 * width_px, blur_px) - unit_step(-0.5 * width_px, blur_px);
      const Trials trials = run_trials(
          "LineBound", kTrials,
          [&](int i, double at_px) {
            return (unit_step(i - at_px + 0.5 * width_px, blur_px) -
                    unit_step(i - at_px - 0.5 * width_px, blur_px)) /
                   peak;
          },
          [&](const std::vector<ProfileSample>& samples, double start_px) {
            return fit_line_profile(samples, start_px, width_px, blur_px);
          });
      double mean_bound = 0.0;
      for (int phase = 0; phase < 20; ++phase) {
        double information = 0.0;
        for (int i = -kHalfWindow; i <= kHalfWindow; ++i) {
          const double slope = line_slope(i, phase / 20.0, width_px, blur_px) / peak;
          information += slope * slope;
        }
        mean_bound += kNoise / std::sqrt(information) / 20.0;
      }
      EXPECT_LT(trials.sd_px, 1.25 * mean_bound) << blur_px << " px blur, " << width_px << " wide";
      EXPECT_GT(trials.sd_px, 0.93 * mean_bound);
      EXPECT_LT(std::abs(trials.bias_px), 0.01);
      EXPECT_NEAR(trials.mean_u_px / trials.sd_px, 1.0, 0.10);
    }
  }
}

}  // namespace
}  // namespace evenbevel
