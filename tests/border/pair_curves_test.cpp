#include "border/pair_curves.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <vector>

#include <gtest/gtest.h>

#include "seeded.hpp"

namespace evenbevel::test {
namespace {

constexpr double kGapMm = 0.4;

/// A band a mm: the high border is plain and straight, the low one faint, and something beside it
/// pulls it to and fro.
std::vector<PairInformation> with_a_faint_low_border(double pull_mm, double wave_mm) {
  std::vector<PairInformation> bands;
  for (int i = 0; i <= 120; ++i) {
    PairInformation band;
    band.s_mm = i;
    const double pull = pull_mm * std::cos(2.0 * std::numbers::pi * band.s_mm / wave_mm);
    band.at_mm = {-0.5 * kGapMm + pull, 0.5 * kGapMm};
    band.information.diagonal() = Eigen::Vector2d(1e5, 1e6);
    bands.push_back(band);
  }
  return bands;
}

double worst_low_mm(const PairCurves& curves) {
  double worst = 0.0;
  for (int s = 0; s <= 120; ++s)
    worst = std::max(worst, std::abs(curves.at(s).low_mm + 0.5 * kGapMm));
  return worst;
}

TEST(PairCurvesClosedForm, ParallelLinesCarryTheFaintOne) {
  const std::vector<PairInformation> bands = with_a_faint_low_border(0.02, 60.0);
  EXPECT_LT(worst_low_mm(fit_pair_curves(bands, PairWidth::parallel)), 0.005);
  EXPECT_GT(worst_low_mm(fit_pair_curves(bands, PairWidth::wanders)), 0.010)
      << "a land may be that wide and narrow, and its curves follow it";
}

TEST(PairCurvesClosedForm, PlacesAreThoseOfTheBordersTheyWereGiven) {
  const PairCurves curves = fit_pair_curves(with_a_faint_low_border(0.0, 60.0));
  const PairCurves::Place middle = curves.at(60.0);
  EXPECT_NEAR(middle.low_mm, -0.5 * kGapMm, 1e-6);
  EXPECT_NEAR(middle.high_mm, 0.5 * kGapMm, 1e-6);
  EXPECT_LT(middle.u_high_mm, middle.u_low_mm) << "the plain border is known better";
  EXPECT_DOUBLE_EQ(curves.scale(), 1.0);
}

/// Both borders as plain as the other to read, the high one a step of a twentieth of the light
/// about it: a burr moves it twenty times its own width.
std::vector<PairInformation> with_a_weak_high_step(double length_mm) {
  std::vector<PairInformation> bands;
  for (double s = 0.0; s <= length_mm; s += 1.0) {
    PairInformation band;
    band.s_mm = s;
    band.at_mm = {-0.5 * kGapMm, 0.5 * kGapMm};
    band.information.diagonal() = Eigen::Vector2d(1e5, 1e5);
    band.per_burr = {-1.0, -20.0};
    bands.push_back(band);
  }
  return bands;
}

TEST(PairCurvesClosedForm, ABurrOnAWeakStepIsInTheMiddlesBudget) {
  const PairCurves curves = fit_pair_curves(with_a_weak_high_step(20.0));
  // One border off by 20 burr widths, the other by one: half of each in the middle. At the end of
  // its knots a burr acts whole.
  const double whole = 0.5 * std::hypot(1.0, 20.0) * kBurrMm;
  EXPECT_NEAR(curves.at(0.0).u_burr_mm, whole, 0.2 * whole);
  // Half-way between two knots two burrs that know nothing of each other share it.
  EXPECT_NEAR(curves.at(10.0).u_burr_mm, std::sqrt(0.5) * whole, 0.2 * whole);
}

TEST(PairCurvesClosedForm, WithoutStepsThereIsNoBurr) {
  EXPECT_EQ(fit_pair_curves(with_a_faint_low_border(0.0, 60.0)).at(60.0).u_burr_mm, 0.0);
}

TEST(PairCurvesProperty, TheMiddleIsHeldWhateverTheBurrs) {
  int places = 0, held = 0;
  for (int blade = 0; blade < 60; ++blade) {
    std::mt19937_64 rng = seeded("Burrs", blade);
    std::normal_distribution<double> normal;
    std::vector<PairInformation> bands = with_a_weak_high_step(100.0);
    std::vector<Eigen::Vector2d> knots;
    for (int k = 0; k < 6; ++k) knots.emplace_back(normal(rng), normal(rng));
    for (PairInformation& band : bands) {
      band.per_burr = {-1.0, -4.0 - 0.3 * band.s_mm};
      const double along = std::min(band.s_mm / kBurrWaveMm, 4.999);
      const auto k = static_cast<std::size_t>(along);
      const double part = along - static_cast<double>(k);
      const Eigen::Vector2d burr_mm = kBurrMm * ((1.0 - part) * knots[k] + part * knots[k + 1]);
      band.at_mm += band.per_burr.cwiseProduct(burr_mm);
      band.at_mm += Eigen::Vector2d(normal(rng), normal(rng)) / std::sqrt(1e5);
    }
    const PairCurves curves = fit_pair_curves(bands);
    for (const double s : {10.0, 50.0, 90.0}) {
      const PairCurves::Place place = curves.at(s);
      const double middle = 0.5 * (place.low_mm + place.high_mm);
      ++places;
      held += std::abs(middle) <= 1.96 * std::hypot(place.u_middle_mm, place.u_burr_mm) ? 1 : 0;
    }
  }
  EXPECT_GE(held, 0.92 * places) << held << " of " << places;
}

TEST(PairCurvesProperty, ABrightBurrOnOneBorderIsHeldByWhatTheWidthWanders) {
  constexpr double kOutMm = 0.05, kStretchMm = 15.0;
  int places = 0, held = 0;
  for (int blade = 0; blade < 60; ++blade) {
    std::mt19937_64 rng = seeded("Bright burrs", blade);
    std::normal_distribution<double> normal;
    std::uniform_real_distribution<double> uniform;
    std::vector<PairInformation> bands = with_a_weak_high_step(120.0);
    const Eigen::Index border = uniform(rng) < 0.5 ? 0 : 1;
    const double out_mm = (border == 0 ? -1.0 : 1.0) * kOutMm;
    const double begin_mm = kStretchMm * uniform(rng);
    for (PairInformation& band : bands) {
      band.per_burr = {-1.5, -1.5};
      const bool burr = static_cast<int>((band.s_mm + begin_mm) / kStretchMm) % 2 == 1;
      if (burr) band.at_mm[border] += out_mm;
      band.at_mm += Eigen::Vector2d(normal(rng), normal(rng)) / std::sqrt(1e5);
    }
    const PairCurves curves = fit_pair_curves(bands);
    for (double s = 5.0; s < 120.0; s += 10.0) {
      const PairCurves::Place place = curves.at(s);
      const double middle = 0.5 * (place.low_mm + place.high_mm);
      ++places;
      held += std::abs(middle) <= 1.96 * std::hypot(place.u_middle_mm, place.u_burr_mm) ? 1 : 0;
    }
  }
  EXPECT_GE(held, 0.95 * places) << held << " of " << places;
}

}  // namespace
}  // namespace evenbevel::test
