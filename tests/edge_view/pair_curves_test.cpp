#include "border/pair_curves.hpp"

#include <cmath>
#include <numbers>

#include <gtest/gtest.h>

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
    const double pull = pull_mm * std::sin(2.0 * std::numbers::pi * band.s_mm / wave_mm);
    band.at_mm = {-0.5 * kGapMm + pull, 0.5 * kGapMm};
    band.information.diagonal() = Eigen::Vector2d(1e4, 1e6);
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
  const std::vector<PairInformation> bands = with_a_faint_low_border(0.02, 40.0);
  EXPECT_LT(worst_low_mm(fit_pair_curves(bands, PairWidth::parallel)), 0.005);
  EXPECT_GT(worst_low_mm(fit_pair_curves(bands, PairWidth::wanders)), 0.010)
      << "a land may be that wide and narrow, and its curves follow it";
}

TEST(PairCurvesClosedForm, PlacesAreThoseOfTheBordersTheyWereGiven) {
  const PairCurves curves = fit_pair_curves(with_a_faint_low_border(0.0, 40.0));
  const PairCurves::Place middle = curves.at(60.0);
  EXPECT_NEAR(middle.low_mm, -0.5 * kGapMm, 1e-6);
  EXPECT_NEAR(middle.high_mm, 0.5 * kGapMm, 1e-6);
  EXPECT_LT(middle.u_high_mm, middle.u_low_mm) << "the plain border is known better";
  EXPECT_DOUBLE_EQ(curves.scale(), 1.0);
}

}  // namespace
}  // namespace evenbevel::test
