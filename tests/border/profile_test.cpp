#include <cmath>
#include <random>
#include <vector>

#include <gtest/gtest.h>

#include "evenbevel/trace.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

using Shape = ProfilePart::Shape;
using test::normal;
using test::seeded;
using test::uniform;

std::vector<ProfileSample> sampled(const ProfileModel& model, int half_window, double noise,
                                   std::mt19937_64& rng) {
  std::vector<ProfileSample> samples;
  for (int i = -half_window; i <= half_window; ++i) {
    const double value = model.value(i) + (noise > 0.0 ? noise * normal(rng) : 0.0);
    samples.push_back({.t_px = static_cast<double>(i), .value = value});
  }
  return samples;
}

std::vector<ProfileSample> sampled(const ProfileModel& model, int half_window) {
  std::mt19937_64 unused = seeded("unused", 0);
  return sampled(model, half_window, 0.0, unused);
}

ProfileModel line_pair(double first_px, double second_px, double width_px, double blur_px) {
  return {.positions_px = {first_px, second_px},
          .parts = {{.shape = Shape::line, .position = 0, .width_px = width_px, .amplitude = 0.5},
                    {.shape = Shape::line, .position = 1, .width_px = width_px, .amplitude = 0.3}},
          .background = 0.1,
          .blur_px = blur_px};
}

TEST(ProfileClosedForm, EveryPartComesBack) {
  ProfileModel truth{
      .positions_px = {-6.3, -1.2, 2.1, 7.4},
      .parts = {{.shape = Shape::step, .position = 0, .amplitude = 0.4},
                {.shape = Shape::line, .position = 1, .width_px = 0.8, .amplitude = 0.5},
                {.shape = Shape::line, .position = 2, .width_px = 0.8, .amplitude = 0.3},
                {.shape = Shape::step, .position = 3, .amplitude = -0.35},
                {.shape = Shape::slope, .position = 0, .amplitude = 0.002}},
      .background = 0.08,
      .blur_px = 0.9,
      .blur_is_free = true};
  ProfileModel start = truth;
  start.positions_px = {-6.0, -1.5, 2.5, 7.0};
  start.blur_px = 1.1;
  const ProfileFit fit = fit_profile(sampled(truth, 15), start);
  ASSERT_TRUE(fit.converged);
  for (std::size_t i = 0; i < 4; ++i) {
    EXPECT_NEAR(fit.model.positions_px[i], truth.positions_px[i], 1e-5);
  }
  EXPECT_NEAR(fit.model.blur_px, 0.9, 1e-5);
  EXPECT_NEAR(fit.rms, 0.0, 1e-7);
}

TEST(ProfileClosedForm, PartsThatShareAPositionMoveTogether) {
  // Two borders at a fixed distance, as a chamfer of known width shows them.
  const ProfileModel truth{.positions_px = {0.37},
                           .parts = {{.shape = Shape::step, .offset_px = 0.0, .amplitude = 0.5},
                                     {.shape = Shape::step, .offset_px = 2.2, .amplitude = -0.3}},
                           .background = 0.1,
                           .blur_px = 0.8};
  ProfileModel start = truth;
  start.positions_px[0] = -0.3;
  const ProfileFit fit = fit_profile(sampled(truth, 10), start);
  ASSERT_TRUE(fit.converged);
  EXPECT_NEAR(fit.model.positions_px[0], 0.37, 1e-5);
}

TEST(ProfileClosedForm, MirroringTheProfileMirrorsThePositions) {
  const ProfileModel truth = line_pair(-2.3, 1.9, 0.7, 0.8);
  std::vector<ProfileSample> samples = sampled(truth, 12);
  for (ProfileSample& sample : samples) sample.t_px = -sample.t_px;
  const ProfileFit fit = fit_line_pair(samples, -2.0, 2.0, 0.7, 0.8);
  ASSERT_TRUE(fit.converged);
  EXPECT_NEAR(fit.model.positions_px[0], -1.9, 1e-5);
  EXPECT_NEAR(fit.model.positions_px[1], 2.3, 1e-5);
}

TEST(ProfileClosedForm, AClippedStripKeepsItsMiddle) {
  ProfileModel truth{
      .positions_px = {-4.2, 4.6},
      .parts = {{.position = 0, .amplitude = 1.4}, {.position = 1, .amplitude = -1.4}},
      .background = 0.1,
      .blur_px = 0.9,
      .clip = 1.0};
  const std::vector<ProfileSample> samples = sampled(truth, 14);
  ProfileModel start = truth;
  start.positions_px = {-4.0, 4.0};
  const ProfileFit fit = fit_profile(samples, start);
  ASSERT_TRUE(fit.converged);
  const double middle = 0.5 * (fit.model.positions_px[0] + fit.model.positions_px[1]);
  EXPECT_NEAR(middle, 0.2, 0.01);
}

TEST(ProfileClosedForm, PeaksComeBackBetweenSamples) {
  std::vector<float> values;
  for (int i = 0; i < 20; ++i) values.push_back(static_cast<float>(5.0 - std::pow(i - 7.3, 2)));
  const std::vector<Peak> peaks = local_maxima(values, 0.0F);
  ASSERT_EQ(peaks.size(), 1U);
  EXPECT_NEAR(peaks[0].index, 7.3, 1e-5);  // a parabola is met exactly, in single precision
  EXPECT_NEAR(peaks[0].value, 5.0, 1e-4);
  EXPECT_TRUE(local_maxima(values, 6.0F).empty());
}

TEST(ProfileProperty, TwoLinesAreReadWithinThreeHundredthsOfAPixel) {
  // Peaks 50 noise sigmas high, four pixels apart, one line weaker than the other.
  constexpr int kTrials = 400;
  double sum_squares[2] = {0.0, 0.0};
  double sum[2] = {0.0, 0.0};
  double sum_z2 = 0.0;
  for (int trial = 0; trial < kTrials; ++trial) {
    std::mt19937_64 rng = seeded("ProfileTwoLines", trial);
    const double at = uniform(rng, -0.5, 0.5);
    const ProfileModel truth = line_pair(at - 2.0, at + 2.0, 0.7, 0.8);
    const double peak = truth.value(at + 2.0) - truth.background;  // the weaker one
    const ProfileFit fit =
        fit_line_pair(sampled(truth, 12, peak / 50.0, rng), at - 1.7, at + 1.8, 0.7, 0.8);
    ASSERT_TRUE(fit.converged);
    for (std::size_t i = 0; i < 2; ++i) {
      const double miss = fit.model.positions_px[i] - truth.positions_px[i];
      sum[i] += miss;
      sum_squares[i] += miss * miss;
      sum_z2 += std::pow(miss / fit.u_px(static_cast<int>(i)), 2);
    }
  }
  for (std::size_t i = 0; i < 2; ++i) {
    EXPECT_LT(std::sqrt(sum_squares[i] / kTrials), 0.03);
    EXPECT_LT(std::abs(sum[i] / kTrials), 0.005);
  }
  // 800 readings know the spread to 2.5 %; 25 samples a fit make z Student's, a little wider.
  EXPECT_NEAR(std::sqrt(sum_z2 / (2 * kTrials)), 1.0, 0.12);
}

TEST(ProfileProperty, TwoLinesDoNotPullEachOtherWhenTheirWidthAndBlurAreNotQuiteKnown) {
  // Width 40 % off, blur 10 % off, both or neither. Averaged over noise: what is left is bias.
  constexpr int kTrials = 60;
  for (const double assumed_width : {0.5, 0.7, 1.0}) {
    for (const double assumed_blur : {0.72, 0.8, 0.88}) {
      for (int phase = 0; phase < 10; ++phase) {
        const double at = 0.1 * phase;
        const ProfileModel truth = line_pair(at - 2.0, at + 2.0, 0.7, 0.8);
        const double peak = truth.value(at + 2.0) - truth.background;
        std::mt19937_64 rng = seeded("ProfileAssumed", phase);
        double bias[2] = {0.0, 0.0};
        for (int trial = 0; trial < kTrials; ++trial) {
          const ProfileFit fit = fit_line_pair(sampled(truth, 12, peak / 50.0, rng), at - 1.6,
                                               at + 2.3, assumed_width, assumed_blur);
          for (std::size_t i = 0; i < 2; ++i) {
            bias[i] += (fit.model.positions_px[i] - truth.positions_px[i]) / kTrials;
          }
        }
        EXPECT_NEAR(bias[0], 0.0, 0.03) << assumed_width << " wide, blur " << assumed_blur;
        EXPECT_NEAR(bias[1], 0.0, 0.03) << assumed_width << " wide, blur " << assumed_blur;
      }
    }
  }
}

TEST(ProfileProperty, ASpeckDoesNotPullTheStep) {
  double worst = 0.0;
  for (int trial = 0; trial < 200; ++trial) {
    std::mt19937_64 rng = seeded("ProfileSpeck", trial);
    const double at = uniform(rng, -0.5, 0.5);
    const ProfileModel truth{
        .positions_px = {at}, .parts = {{.amplitude = 0.5}}, .background = 0.2, .blur_px = 0.9};
    std::vector<ProfileSample> samples = sampled(truth, 12, 0.004, rng);
    const auto speck = static_cast<std::size_t>(uniform(rng, 0.0, 6.0));  // on the dark side
    samples[speck].value += 0.3;
    samples[speck + 1].value += 0.2;
    const ProfileFit fit = fit_step(samples, at + 0.4, 0.9);
    ASSERT_TRUE(fit.converged);
    worst = std::max(worst, std::abs(fit.model.positions_px[0] - at));
  }
  EXPECT_LT(worst, 0.06);  // noise alone: 0.015 px RMS, worst of 200 some 0.045
}

TEST(ProfileProperty, WeightsSayWhichSamplesToTrust) {
  // One half of the profile carries ten times the noise, and says so.
  double weighted = 0.0;
  double plain = 0.0;
  for (int trial = 0; trial < 300; ++trial) {
    std::mt19937_64 rng = seeded("ProfileWeights", trial);
    const ProfileModel truth{.positions_px = {0.2},
                             .parts = {{.shape = Shape::line, .width_px = 4.0, .amplitude = 0.5}},
                             .background = 0.2,
                             .blur_px = 0.9};
    std::vector<ProfileSample> samples = sampled(truth, 12);
    for (ProfileSample& sample : samples) {
      const double noise = sample.t_px > 0.0 ? 0.05 : 0.005;
      sample.value += noise * normal(rng);
      sample.weight = 1.0 / (noise * noise);
    }
    const ProfileFit trusting = fit_line_profile(samples, 0.0, 4.0, 0.9);
    ASSERT_TRUE(trusting.converged);
    for (ProfileSample& sample : samples) sample.weight = 1.0;
    const ProfileFit blind = fit_line_profile(samples, 0.0, 4.0, 0.9);
    weighted += std::pow(trusting.model.positions_px[0] - 0.2, 2);
    plain += std::pow(blind.model.positions_px[0] - 0.2, 2);
  }
  EXPECT_LT(weighted, 0.5 * plain);
}

TEST(ProfileBadInput, TooFewSamplesAreNotAFit) {
  const std::vector<ProfileSample> samples{
      {.t_px = 0.0, .value = 0.1}, {.t_px = 1.0, .value = 0.5}, {.t_px = 2.0, .value = 0.9}};
  EXPECT_FALSE(fit_step(samples, 1.0, 1.0).converged);
  EXPECT_FALSE(fit_step({}, 1.0, 1.0).converged);
}

TEST(ProfileBadInput, AFlatProfileHasNoStepWorthItsName) {
  std::mt19937_64 rng = seeded("ProfileFlat", 0);
  std::vector<ProfileSample> samples;
  for (int i = -12; i <= 12; ++i) {
    samples.push_back({.t_px = static_cast<double>(i), .value = 0.3 + 0.005 * normal(rng)});
  }
  const ProfileFit fit = fit_step(samples, 0.0, 1.0, false);
  // Either it says so, or the position is not known to a pixel or so, or the step is mere noise.
  EXPECT_TRUE(!fit.converged || fit.u_px(0) > 0.2 || std::abs(fit.model.parts[0].amplitude) < 0.02);
}

}  // namespace
}  // namespace evenbevel
