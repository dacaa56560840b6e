#include <limits>

#include <gtest/gtest.h>

#include "fixture.hpp"

namespace evenbevel {
namespace {

/// A blade whose worst offset is as given, U95 = 1.959964 u (infinite dof).
EdgeResult worst(double value_mm, double u_mm) {
  EdgeResult result = test::result_of({});
  result.centreline_offset_worst_mm = Measured{value_mm, u_mm};
  return result;
}

Verdict verdict(double value_mm, double u_mm, double tolerance_mm) {
  return edge_verdict(worst(value_mm, u_mm), {.tolerance_mm = tolerance_mm});
}

// ISO 14253-1: conformity is proven only when the value with its whole interval lies inside the
// limit, non-conformity only when it lies outside; between them nothing is proven.
// (Rule from memory; U95 from the normal quantile 1.959964, JCGM 100:2008 table G.2.)
TEST(EdgeVerdictClosedForm, TheWholeIntervalDecides) {
  EXPECT_EQ(verdict(0.030, 0.005, 0.050), Verdict::within);      // 0.0398 at most
  EXPECT_EQ(verdict(0.070, 0.005, 0.050), Verdict::outside);     // 0.0602 at least
  EXPECT_EQ(verdict(0.045, 0.005, 0.050), Verdict::unresolved);  // value in, interval straddles
  EXPECT_EQ(verdict(0.055, 0.005, 0.050), Verdict::unresolved);  // value out, interval straddles
}

TEST(EdgeVerdictClosedForm, TheSideDoesNotMatter) {
  EXPECT_EQ(verdict(-0.030, 0.005, 0.050), Verdict::within);
  EXPECT_EQ(verdict(-0.070, 0.005, 0.050), Verdict::outside);
  EXPECT_EQ(verdict(-0.045, 0.005, 0.050), Verdict::unresolved);
}

TEST(EdgeVerdictClosedForm, EitherEndOfTheIntervalTurnsItAtTheLimit) {
  constexpr double kU = 0.005;
  constexpr double kU95 = 1.959964 * kU;
  constexpr double kHair = 1e-6;  // well under U95's rounding above
  EXPECT_EQ(verdict(0.050 - kU95 - kHair, kU, 0.050), Verdict::within);
  EXPECT_EQ(verdict(0.050 - kU95 + kHair, kU, 0.050), Verdict::unresolved);
  EXPECT_EQ(verdict(0.050 + kU95 - kHair, kU, 0.050), Verdict::unresolved);
  EXPECT_EQ(verdict(0.050 + kU95 + kHair, kU, 0.050), Verdict::outside);
}

// JCGM 100:2008 table G.2: t for 4 degrees of freedom is 2.78, so the same u reaches further.
TEST(EdgeVerdictClosedForm, FewDegreesOfFreedomWidenTheInterval) {
  EdgeResult result = worst(0.039, 0.005);
  const ReportSettings settings{.tolerance_mm = 0.050};
  EXPECT_EQ(edge_verdict(result, settings), Verdict::within);
  result.centreline_offset_worst_mm->dof = 4.0;
  EXPECT_EQ(edge_verdict(result, settings), Verdict::unresolved);
}

TEST(EdgeVerdictClosedForm, ABlurThatHidesTheEdgeIsNeverWithin) {
  EXPECT_EQ(verdict(0.0, 0.1, 0.050), Verdict::unresolved);
}

TEST(EdgeVerdictClosedForm, WithoutToleranceThereIsNone) {
  EXPECT_EQ(edge_verdict(worst(0.03, 0.005), {}), Verdict::none);
}

TEST(EdgeVerdictClosedForm, ABladeMostlyUnseenIsNotWithinButCanBeOutside) {
  EdgeResult result = worst(0.010, 0.002);
  const ReportSettings settings{.tolerance_mm = 0.050};
  for (std::size_t i = 0; i < result.stations.size() / 3; ++i) {
    result.stations[i].centreline_offset_mm.reset();
  }
  EXPECT_EQ(edge_verdict(result, settings), Verdict::unresolved);
  result.centreline_offset_worst_mm = Measured{0.2, 0.002};
  EXPECT_EQ(edge_verdict(result, settings), Verdict::outside);
}

TEST(EdgeVerdictBadInput, NothingMeasuredIsUnresolved) {
  EdgeResult result = worst(0.0, 0.0);
  result.centreline_offset_worst_mm.reset();
  EXPECT_EQ(edge_verdict(result, {.tolerance_mm = 0.05}), Verdict::unresolved);
}

TEST(EdgeVerdictBadInput, NotANumberIsUnresolved) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  EXPECT_EQ(verdict(nan, 0.005, 0.050), Verdict::unresolved);
  EXPECT_EQ(verdict(0.01, nan, 0.050), Verdict::unresolved);
}

}  // namespace
}  // namespace evenbevel
