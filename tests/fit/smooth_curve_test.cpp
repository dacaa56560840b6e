#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include <gtest/gtest.h>

#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "evenbevel/uncertainty.hpp"
#include "evenbevel/units.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

struct Readings {
  std::vector<double> x, y, u;
};

/// Readings every mm with noise of 0.01 on a centreline that wanders by some 0.05.
template <class Truth>
Readings take(std::mt19937_64& rng, int count, Truth truth) {
  Readings readings;
  for (int i = 0; i < count; ++i) {
    const double u = test::uniform(rng, 0.5, 1.5);
    readings.x.push_back(i);
    readings.u.push_back(0.005 * u);
    readings.y.push_back(truth(i) + 0.01 * u * test::normal(rng));
  }
  return readings;
}

/// A centreline of three waves of 30 to 120 mm.
class Wander {
 public:
  explicit Wander(std::mt19937_64& rng) {
    for (Wave& wave : waves_) {
      wave = {test::uniform(rng, 0.0, 0.03), test::uniform(rng, 30.0, 120.0),
              test::uniform(rng, 0.0, 6.3)};
    }
  }
  double operator()(double x) const {
    double sum = 0.0;
    for (const Wave& wave : waves_)
      sum += wave.height * std::sin(2.0 * kPi * x / wave.length + wave.phase);
    return sum;
  }

 private:
  struct Wave {
    double height = 0.0, length = 1.0, phase = 0.0;
  };
  std::array<Wave, 3> waves_;
};

TEST(SmoothCurveClosedForm, AStraightLineComesBackAndGoesOnBeyondTheEnds) {
  const std::vector<double> x{0, 1, 2, 4, 7, 8, 9, 12, 13, 20};
  std::vector<double> y(x.size());
  std::transform(x.begin(), x.end(), y.begin(), [](double xi) { return 3.0 - 0.25 * xi; });
  const SmoothCurve curve = smooth_curve(x, y, {});
  for (const double place : {-5.0, 0.0, 0.3, 5.5, 20.0, 31.0}) {
    EXPECT_NEAR(curve.at(place).value, 3.0 - 0.25 * place, 1e-9) << place;
    EXPECT_NEAR(curve.at(place).slope, -0.25, 1e-9) << place;
  }
}

// Noise only, too slow to bend: the uncertainty is that of a straight line fit,
// u^2 = s^2 (1 / n + (x - mean)^2 / Sxx).
TEST(SmoothCurveClosedForm, AStiffCurveHasTheUncertaintyOfALine) {
  std::vector<double> x, y;
  for (int i = 0; i < 40; ++i) {
    x.push_back(i);
    y.push_back(i % 2 == 0 ? 0.1 : -0.1);
  }
  const SmoothCurve curve =
      smooth_curve(x, y, std::vector<double>(40, 0.1), {.estimate_scale = false});
  const double sum_xx = 40.0 * (40.0 * 40.0 - 1.0) / 12.0;
  for (const double place : {0.0, 10.0, 19.5, 31.5, 39.0}) {
    const double line_u = 0.1 * std::sqrt(1.0 / 40.0 + std::pow(place - 19.5, 2) / sum_xx);
    EXPECT_NEAR(curve.at(place).u, line_u, 1e-3 * line_u) << place;  // the bend left to it
  }
}

TEST(SmoothCurveClosedForm, TheCurveIsSmoothAcrossItsKnots) {
  std::mt19937_64 rng = test::seeded("SmoothCurveClosedForm", 0);
  const Wander truth(rng);
  const Readings r = take(rng, 60, truth);
  const SmoothCurve curve = smooth_curve(r.x, r.y, r.u);
  for (const double knot : {0.0, 7.0, 30.0, 59.0}) {
    const SmoothCurve::Reading before = curve.at(knot - 1e-7), at = curve.at(knot),
                               after = curve.at(knot + 1e-7);
    EXPECT_NEAR(before.value, at.value, 1e-8);
    EXPECT_NEAR(after.value, at.value, 1e-8);
    EXPECT_NEAR(before.u, after.u, 1e-8);
    EXPECT_NEAR(before.slope, after.slope, 1e-7);
  }
}

TEST(SmoothCurveClosedForm, SlopeIsTheDerivativeOfTheValue) {
  std::mt19937_64 rng = test::seeded("SmoothCurveClosedForm", 1);
  const Wander truth(rng);
  const Readings r = take(rng, 60, truth);
  const SmoothCurve curve = smooth_curve(r.x, r.y, r.u);
  for (const double place : {-3.0, 0.4, 20.0, 33.3, 62.0}) {
    const double difference = (curve.at(place + 1e-4).value - curve.at(place - 1e-4).value) / 2e-4;
    EXPECT_NEAR(curve.at(place).slope, difference, 1e-6) << place;
  }
}

TEST(SmoothCurveClosedForm, TwoReadingsAtOnePlaceCountAsTheirMean) {
  const std::vector<double> x{0, 1, 2, 3, 4, 5}, u(6, 0.1);
  const std::vector<double> y{0.0, 0.3, 0.1, 0.4, 0.2, 0.3};
  std::vector<double> x2, y2, u2;
  for (std::size_t i = 0; i < x.size(); ++i) {
    for (const double off : {-0.05, 0.05}) {
      x2.push_back(x[i]);
      y2.push_back(y[i] + off);
      u2.push_back(0.1 * std::sqrt(2.0));
    }
  }
  // The waves allowed follow the spacing, which is not the same: fix them.
  const SmoothCurveOptions options{.estimate_scale = false, .shortest_wave = 10.0};
  const SmoothCurve single = smooth_curve(x, y, u, options),
                    twice = smooth_curve(x2, y2, u2, options);
  EXPECT_NEAR(single.at(2.5).value, twice.at(2.5).value, 0.01);
  EXPECT_NEAR(single.at(2.5).u, twice.at(2.5).u, 0.002);
}

TEST(SmoothCurveClosedForm, UncertaintyGrowsInGapsAndBeyondTheEnds) {
  std::mt19937_64 rng = test::seeded("SmoothCurveClosedForm", 2);
  const Wander truth(rng);
  Readings r = take(rng, 100, truth);
  for (std::vector<double>* column : {&r.x, &r.y, &r.u}) {
    column->erase(column->begin() + 40, column->begin() + 60);
  }
  const SmoothCurve curve = smooth_curve(r.x, r.y, r.u);
  EXPECT_GT(curve.at(49.5).u, 2.0 * curve.at(20.0).u);
  EXPECT_GT(curve.at(110.0).u, 3.0 * curve.at(99.0).u);
  EXPECT_GT(curve.at(-20.0).u, curve.at(-10.0).u);
}

/// Shares of places where the 95 % interval holds the truth, and how wide it is.
struct Coverage {
  double held = 0.0, z_rms = 0.0, error_rms = 0.0, mean_u = 0.0, scale = 0.0;
};

template <class Spoil>
Coverage coverage(int scenes, int count, const SmoothCurveOptions& options, Spoil spoil) {
  Coverage sum;
  int places = 0;
  for (int scene = 0; scene < scenes; ++scene) {
    std::mt19937_64 rng = test::seeded("SmoothCurveProperty", scene);
    const Wander truth(rng);
    Readings r = take(rng, count, truth);
    spoil(rng, r);
    const SmoothCurve curve = smooth_curve(r.x, r.y, r.u, options);
    sum.scale += curve.scale() / scenes;
    for (int step = 0; 2.5 * step <= count - 1; ++step) {
      const double place = 2.5 * step;
      const SmoothCurve::Reading reading = curve.at(place);
      const double error = reading.value - truth(place);
      if (std::abs(error) <= U95({reading.value, reading.u, curve.dof()})) sum.held += 1.0;
      sum.z_rms += std::pow(error / reading.u, 2);
      sum.error_rms += error * error;
      sum.mean_u += reading.u;
      ++places;
    }
  }
  return {sum.held / places, std::sqrt(sum.z_rms / places), std::sqrt(sum.error_rms / places),
          sum.mean_u / places, sum.scale};
}

constexpr auto kUnspoilt = [](std::mt19937_64&, const Readings&) {};

TEST(SmoothCurveProperty, IntervalsHoldTheTruthAndAreNoWiderThanNeeded) {
  const Coverage c = coverage(300, 120, {}, kUnspoilt);
  EXPECT_NEAR(c.held, 0.95, 0.02);  // 300 scenes of some ten independent places: 3 sigma 1.2 %
  EXPECT_NEAR(c.z_rms, 1.0, 0.1);
  EXPECT_NEAR(c.scale, 2.0, 0.02);     // the noise is twice the u that came with the readings
  EXPECT_LT(c.error_rms, 0.5 * 0.01);  // smoothing halves the noise at the least
}

TEST(SmoothCurveProperty, FewReadingsStillHold) {
  const Coverage c = coverage(600, 12, {}, kUnspoilt);
  EXPECT_GE(c.held, 0.92);
  EXPECT_LE(c.held, 0.985);
}

TEST(SmoothCurveProperty, StatedNoiseIsTakenAsStated) {
  const Coverage c =
      coverage(200, 120, {.estimate_scale = false}, [](std::mt19937_64&, Readings& r) {
        for (double& u : r.u) u *= 2.0;
      });
  EXPECT_NEAR(c.scale, 1.0, 1e-12);
  // Waves are smoother than the random walk that the interval allows for: a little too wide.
  EXPECT_GE(c.held, 0.94);
  EXPECT_LE(c.held, 0.985);
}

TEST(SmoothCurveProperty, OutliersAreLeftOutAndTheIntervalsStillHold) {
  const auto spoil = [](std::mt19937_64& rng, Readings& r) {
    for (double& y : r.y) {
      if (test::uniform(rng, 0.0, 1.0) < 0.1) y += test::uniform(rng, 0.1, 1.0);
    }
    for (std::size_t i = 60; i < 64; ++i) r.y[i] += 0.3;  // a glint over four stations
  };
  const Coverage c = coverage(200, 120, {}, spoil);
  EXPECT_GE(c.held, 0.93);
  EXPECT_LT(c.error_rms, 0.6 * 0.01);
}

TEST(SmoothCurveProperty, SharedErrorsAreNotFollowedWhenWavesAreLimited) {
  // Errors that neighbours share over 5 mm, as traces of a blurred picture do.
  const auto share = [](std::mt19937_64& rng, Readings& r) {
    std::vector<double> noise(r.y.size() + 4);
    for (double& n : noise) n = 0.01 * test::normal(rng);
    for (std::size_t i = 0; i < r.y.size(); ++i) {
      r.y[i] += noise[i] + noise[i + 1] + noise[i + 2] + noise[i + 3] + noise[i + 4];
    }
  };
  const Coverage free = coverage(100, 120, {}, share);
  const Coverage limited = coverage(100, 120, {.shortest_wave = 30.0}, share);
  EXPECT_LT(limited.error_rms, 0.9 * free.error_rms);
  EXPECT_GT(limited.held, free.held);
}

TEST(SmoothCurveBadInput, TooFewReadingsAreNoCurve) {
  const std::vector<double> three{1, 2, 3}, stacked{1, 1, 1, 2};
  EXPECT_THROW(smooth_curve(three, three, {}), Error);
  EXPECT_THROW(smooth_curve(stacked, stacked, {}), Error);
  EXPECT_THROW(smooth_curve({}, {}, {}), Error);
}

TEST(SmoothCurveBadInput, EqualReadingsGiveFiniteNumbers) {
  const std::vector<double> x{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}, y(10, 0.125);
  const SmoothCurve::Reading reading = smooth_curve(x, y, {}).at(4.5);
  EXPECT_NEAR(reading.value, 0.125, 1e-12);
  EXPECT_TRUE(std::isfinite(reading.u));
  EXPECT_LT(reading.u, 1e-9);
}

TEST(SmoothCurveBadInput, OneWildReadingAmongExactOnesIsLeftOut) {
  const std::vector<double> x{0, 1, 2, 3, 4, 5, 6, 7, 8, 9};
  std::vector<double> y{0, 1, 2, 3, 4, 5, 6, 7, 8, 9};
  y[4] = 50.0;
  const SmoothCurve curve =
      smooth_curve(x, y, std::vector<double>(10, 0.01), {.estimate_scale = false});
  EXPECT_FALSE(curve.used()[4]);
  EXPECT_EQ(std::count(curve.used().begin(), curve.used().end(), true), 9);
  EXPECT_NEAR(curve.at(4.0).value, 4.0, 1e-6);
}

}  // namespace
}  // namespace evenbevel
