#include <array>
#include <cmath>
#include <limits>
#include <vector>

#include <gtest/gtest.h>

#include "evenbevel/uncertainty.hpp"

namespace evenbevel {
namespace {

constexpr double kInfinite = std::numeric_limits<double>::infinity();

// JCGM 100:2008 annex H.1, end gauge; inputs as printed (u in nm, sensitivity already applied).
const std::vector<BudgetLine> kComparison{{"repeated observations", 13.0 / std::sqrt(5.0), 24.0},
                                          {"comparator, random", 10.0 / 2.5705818, 5.0},
                                          {"comparator, systematic", 20.0 / 3.0, 8.0}};

std::vector<BudgetLine> end_gauge() {
  const double l_standard_nm = 50000623.0;
  const double d_alpha_u = 1.0e-6 / std::sqrt(3.0), d_theta_u = 0.05 / std::sqrt(3.0);
  const Measured comparison = combine(215.0, kComparison);
  return {{"standard", 75.0 / 3.0, 18.0},
          {"comparison", comparison.u, comparison.dof},
          {"difference in expansion", l_standard_nm * 0.1 * d_alpha_u, 50.0},
          {"difference in temperature", l_standard_nm * 11.5e-6 * d_theta_u, 2.0}};
}

TEST(UncertaintyOutside, GumEndGaugeComparison) {
  const Measured comparison = combine(215.0, kComparison);
  EXPECT_NEAR(comparison.u, 9.7, 0.05);  // half of the last printed digit
  // Printed 25.6, from components rounded to 5.8, 3.9 and 6.7 nm.
  const std::vector<BudgetLine> rounded{{"", 5.8, 24.0}, {"", 3.9, 5.0}, {"", 6.7, 8.0}};
  EXPECT_NEAR(combine(0.0, rounded).dof, 25.6, 0.25);
}

TEST(UncertaintyOutside, GumEndGaugeContributionsAsPrinted) {
  const std::vector<BudgetLine> budget = end_gauge();
  EXPECT_NEAR(budget[0].u, 25.0, 1e-12);
  EXPECT_NEAR(budget[2].u, 2.9, 0.05);
  EXPECT_NEAR(budget[3].u, 16.6, 0.05);
}

TEST(UncertaintyOutside, GumEndGaugeCombined) {
  const Measured length = combine(50000838.0, end_gauge());
  EXPECT_NEAR(length.u, 32.0, 0.5);
  // Unrounded, recomputed from the printed inputs with an independent program: 31.664 nm.
  EXPECT_NEAR(length.u, 31.66, 0.1);
  EXPECT_EQ(std::floor(length.dof), 16.0);  // printed: 16.7, truncated to 16
  EXPECT_NEAR(length.dof, 16.7, 0.1);
}

TEST(UncertaintyOutside, GumEndGaugeExpanded) {
  const Measured length = combine(50000838.0, end_gauge());
  EXPECT_NEAR(coverage_factor(length.dof, 0.99), 2.92, 0.005);
  EXPECT_NEAR(coverage_factor(length.dof, 0.95), 2.12, 0.005);
  // Printed 93 nm is 2.92 x 32; unrounded 2.9208 x 31.664 = 92.5 nm.
  EXPECT_NEAR(coverage_factor(length.dof, 0.99) * length.u, 92.5, 0.3);
}

struct CoverageRow {
  double dof;
  std::array<double, 6> k;
};

// JCGM 100:2008 table G.2, at probabilities 68.27, 90, 95, 95.45, 99 and 99.73 %.
constexpr std::array<double, 6> kProbability{0.682689492, 0.90, 0.95,
                                             0.954499736, 0.99, 0.997300204};
const std::vector<CoverageRow> kCoverage{{1, {1.84, 6.31, 12.71, 13.97, 63.66, 235.80}},
                                         {2, {1.32, 2.92, 4.30, 4.53, 9.92, 19.21}},
                                         {3, {1.20, 2.35, 3.18, 3.31, 5.84, 9.22}},
                                         {4, {1.14, 2.13, 2.78, 2.87, 4.60, 6.62}},
                                         {5, {1.11, 2.02, 2.57, 2.65, 4.03, 5.51}},
                                         {6, {1.09, 1.94, 2.45, 2.52, 3.71, 4.90}},
                                         {8, {1.07, 1.86, 2.31, 2.37, 3.36, 4.28}},
                                         {10, {1.05, 1.81, 2.23, 2.28, 3.17, 3.96}},
                                         {12, {1.04, 1.78, 2.18, 2.23, 3.05, 3.76}},
                                         {16, {1.03, 1.75, 2.12, 2.17, 2.92, 3.54}},
                                         {20, {1.03, 1.72, 2.09, 2.13, 2.85, 3.42}},
                                         {30, {1.02, 1.70, 2.04, 2.09, 2.75, 3.27}},
                                         {50, {1.01, 1.68, 2.01, 2.05, 2.68, 3.16}},
                                         {100, {1.005, 1.660, 1.984, 2.025, 2.626, 3.077}},
                                         {kInfinite, {1.000, 1.645, 1.960, 2.000, 2.576, 3.000}}};

TEST(UncertaintyOutside, GumTableOfCoverageFactors) {
  for (const CoverageRow& row : kCoverage) {
    for (std::size_t i = 0; i < row.k.size(); ++i) {
      // Half of the last printed digit, and in the first row what 235.80 for 235.78 allows.
      const double half_digit = row.dof >= 100 ? 0.0005 : 0.005;
      const double tolerance = row.k[i] > 100 ? 0.03 : half_digit;
      EXPECT_NEAR(coverage_factor(row.dof, kProbability[i]), row.k[i], tolerance + 1e-6)
          << "dof " << row.dof << ", probability " << kProbability[i];
    }
  }
}

// A worked case of Welch's and Satterthwaite's formula (Sandia's suncal, test suite): 12.8.
TEST(UncertaintyOutside, WelchAndSatterthwaiteSmallCase) {
  const std::vector<BudgetLine> budget{{"observed", 0.57, 9.0}, {"stated", 0.25, kInfinite}};
  EXPECT_NEAR(combine(0.0, budget).dof, 12.8, 0.05);
  EXPECT_NEAR(combine(0.0, budget).dof, 12.796, 0.0005);  // recomputed
}

}  // namespace
}  // namespace evenbevel
