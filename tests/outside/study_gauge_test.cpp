// Repeatability studies with published results.

#include <cmath>
#include <numeric>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "evenbevel/study.hpp"
#include "gauge_study_data.hpp"

namespace evenbevel::test {
namespace {

constexpr double kHalf2 = 0.005, kHalf3 = 0.0005, kHalf4 = 0.00005, kHalf5 = 0.000005;

const VarianceLine& line(const StudyResult& result, const std::string& source) {
  for (const VarianceLine& candidate : result.variance.lines) {
    if (candidate.source == source) return candidate;
  }
  throw std::out_of_range(source);
}

double percent(const Spread& spread, const StudySpreads& of) {
  return 100.0 * spread.sigma / of.total.sigma;
}

TEST(StudyOutside, ClassicDataHaveTheirCheckSums) {
  double sum = 0.0, squares = 0.0;
  for (const StudyReading& reading : readings_of(kClassic)) {
    sum += reading.value;
    squares += reading.value * reading.value;
  }
  EXPECT_NEAR(sum, 0.13, 1e-9);
  EXPECT_NEAR(squares, 94.6473, 1e-9);
}

// AIAG, Measurement Systems Analysis, 4th ed., figure III-B 16.
TEST(StudyOutside, ClassicAverageAndRange) {
  const StudyResult result = study(readings_of(kClassic));
  ASSERT_TRUE(result.range);
  const RangeAnalysis& range = *result.range;
  ASSERT_EQ(range.person_means.size(), 3U);
  EXPECT_NEAR(range.person_means[0], 0.1903, kHalf4);
  EXPECT_NEAR(range.person_means[1], 0.0683, kHalf4);
  EXPECT_NEAR(range.person_means[2], -0.2543, kHalf4);
  EXPECT_NEAR(range.mean_range, 0.3417, kHalf4);
  EXPECT_NEAR(range.person_difference, 0.4446, 1e-4);  // printed from rounded means
  EXPECT_NEAR(range.part_range, 3.511, kHalf3);
  EXPECT_NEAR(range.range_limit, 0.880, kHalf3);
  EXPECT_NEAR(range.K1, 0.5908, kHalf4);
  EXPECT_NEAR(range.K2, 0.5231, kHalf4);
  EXPECT_NEAR(range.K3, 0.3146, kHalf4);
  const StudySpreads& spreads = range.spreads;
  // The printed percentages are of rounded spreads: 0.01 either way.
  EXPECT_NEAR(percent(spreads.repeatability, spreads), 17.62, 0.01);
  EXPECT_NEAR(percent(spreads.reproducibility, spreads), 20.04, 0.01);
  EXPECT_NEAR(percent(spreads.set_up, spreads), 26.68, kHalf2);
  EXPECT_NEAR(percent(*spreads.part, spreads), 96.38, kHalf2);
  EXPECT_NEAR(spreads.total.sigma, 1.14610, 5e-5);
  EXPECT_EQ(spreads.distinct_categories, 5);
  // From memory as printed, and recomputed unrounded with an independent program.
  EXPECT_NEAR(spreads.repeatability.sigma, 0.20188, 3e-5);
  EXPECT_NEAR(spreads.repeatability.sigma, 0.201857, 5e-7);
  EXPECT_NEAR(spreads.reproducibility.sigma, 0.229667, 5e-7);
  EXPECT_NEAR(spreads.set_up.sigma, 0.305766, 5e-7);
  EXPECT_NEAR(spreads.part->sigma, 1.104596, 5e-7);
}

// The same manual flags person B on part 4 (range 1.02 above the limit), and no other.
TEST(StudyOutside, ClassicRangeOutOfControlIsNamed) {
  const StudyResult result = study(readings_of(kClassic));
  ASSERT_EQ(result.warnings.size(), 1U);
  EXPECT_NE(sentence(result.warnings[0], LengthUnit::mm).find("part 4 by B."), std::string::npos);
}

// The same manual, chapter III-B, analysis of variance.
TEST(StudyOutside, ClassicAnalysisOfVariance) {
  const StudyResult result = study(readings_of(kClassic));
  const VarianceLine part = line(result, "part"), person = line(result, "person");
  const VarianceLine interaction = line(result, "interaction");
  const VarianceLine rest = line(result, "repeatability");
  EXPECT_EQ(part.dof, 9.0);
  EXPECT_EQ(person.dof, 2.0);
  EXPECT_EQ(interaction.dof, 18.0);
  EXPECT_EQ(rest.dof, 60.0);
  EXPECT_NEAR(part.sum_of_squares, 88.36193, kHalf5);
  EXPECT_NEAR(person.sum_of_squares, 3.167262, 5e-7);
  EXPECT_NEAR(interaction.sum_of_squares, 0.358982, 5e-7);
  EXPECT_NEAR(rest.sum_of_squares, 2.758933, 5e-7);
  EXPECT_NEAR(result.variance.total_sum_of_squares, 94.64711, kHalf5);
  EXPECT_EQ(result.variance.total_dof, 89.0);
  EXPECT_NEAR(part.mean_square(), 9.817993, 5e-7);
  EXPECT_NEAR(person.mean_square(), 1.583631, 5e-7);
  EXPECT_NEAR(interaction.mean_square(), 0.0199435, 5e-8);
  EXPECT_NEAR(rest.mean_square(), 0.0459822, 5e-8);
  EXPECT_NEAR(*part.F, 492.291, kHalf3);
  EXPECT_NEAR(*person.F, 79.406, kHalf3);
  EXPECT_NEAR(*interaction.F, 0.43372, kHalf5);
  EXPECT_NEAR(*interaction.p, 0.9741, kHalf4);
}

TEST(StudyOutside, ClassicSpreadsWithTheInteractionPooled) {
  const StudyResult result = study(readings_of(kClassic));
  ASSERT_TRUE(result.variance.interaction_pooled);
  ASSERT_TRUE(result.variance.pooled);
  EXPECT_EQ(result.variance.pooled->dof, 78.0);
  EXPECT_NEAR(result.variance.pooled->mean_square(), 0.0399733, 5e-8);
  const StudySpreads& spreads = result.variance.spreads;
  EXPECT_NEAR(spreads.repeatability.sigma, 0.199933, 5e-7);
  EXPECT_NEAR(spreads.reproducibility.sigma, 0.226838, 5e-7);
  // Printed 0.302373; the two printed parts give 0.302372.
  EXPECT_NEAR(spreads.set_up.sigma, 0.302373, 2e-6);
  EXPECT_NEAR(spreads.part->sigma, 1.042327, 5e-7);
  EXPECT_NEAR(spreads.total.sigma, 1.0853, kHalf4);
  EXPECT_NEAR(percent(spreads.repeatability, spreads), 18.42, kHalf2);
  EXPECT_NEAR(percent(spreads.reproducibility, spreads), 20.90, kHalf2);
  EXPECT_NEAR(percent(spreads.set_up, spreads), 27.86, kHalf2);
  EXPECT_NEAR(percent(*spreads.part, spreads), 96.04, kHalf2);
  const double variance = spreads.total.sigma * spreads.total.sigma;
  EXPECT_NEAR(100.0 * spreads.set_up.sigma * spreads.set_up.sigma / variance, 7.76, kHalf2);
  EXPECT_NEAR(100.0 * spreads.part->sigma * spreads.part->sigma / variance, 92.24, kHalf2);
  EXPECT_EQ(spreads.distinct_categories, 4);
}

TEST(StudyOutside, ClassicSpreadsWithTheInteractionKept) {
  const StudyResult result = study(readings_of(kClassic), {.pool_above_p = 1.0});
  ASSERT_FALSE(result.variance.interaction_pooled);
  const StudySpreads& spreads = result.variance.spreads;
  EXPECT_NEAR(spreads.repeatability.sigma, 0.214435, 5e-7);
  ASSERT_TRUE(spreads.interaction);
  EXPECT_EQ(spreads.interaction->sigma, 0.0);
  EXPECT_TRUE(spreads.interaction->set_to_zero);
  EXPECT_NEAR(spreads.person->sigma, 0.228304, 5e-7);
  EXPECT_NEAR(spreads.part->sigma, 1.043395, 5e-7);
  ASSERT_FALSE(result.warnings.empty());
  EXPECT_NE(sentence(result.warnings.back(), LengthUnit::mm).find("interaction"),
            std::string::npos);
}

// D. C. Montgomery, Introduction to Statistical Quality Control, 5th ed. (2005), gauge study with
// an interaction that counts; printed figures from memory.
TEST(StudyOutside, ImpedanceWithAnInteraction) {
  const StudyResult result = study(readings_of(kImpedance));
  EXPECT_NEAR(line(result, "part").sum_of_squares, 3935.96, kHalf2);
  EXPECT_NEAR(line(result, "person").sum_of_squares, 39.27, kHalf2);
  EXPECT_NEAR(line(result, "interaction").sum_of_squares, 48.51, kHalf2);
  EXPECT_NEAR(line(result, "repeatability").sum_of_squares, 30.67, kHalf2);
  EXPECT_NEAR(*line(result, "part").F, 162.27, kHalf2);
  EXPECT_NEAR(*line(result, "person").F, 7.28, kHalf2);
  EXPECT_NEAR(*line(result, "interaction").F, 5.27, kHalf2);
  ASSERT_FALSE(result.variance.interaction_pooled);
  const auto variance = [](const Spread& spread) { return spread.sigma * spread.sigma; };
  const StudySpreads& spreads = result.variance.spreads;
  EXPECT_NEAR(variance(*spreads.part), 48.29, kHalf2);
  EXPECT_NEAR(variance(*spreads.person), 0.56, kHalf2);
  EXPECT_NEAR(variance(*spreads.interaction), 0.73, kHalf2);
  EXPECT_NEAR(variance(spreads.repeatability), 0.51, kHalf2);
}

// NIST StRD, analysis of variance, SiRstv: bulk resistivity of silicon wafers, 5 instruments.
TEST(StudyOutside, NistResistivityOneFactor) {
  const std::vector<std::vector<double>> instruments{
      {196.3052, 196.1240, 196.1890, 196.2569, 196.3403},
      {196.3042, 196.3825, 196.1669, 196.3257, 196.0422},
      {196.1303, 196.2005, 196.2889, 196.0343, 196.1811},
      {196.2795, 196.1748, 196.1494, 196.1485, 195.9885},
      {196.2119, 196.1051, 196.1850, 196.0052, 196.2090}};
  std::vector<StudyReading> readings;
  for (std::size_t i = 0; i < instruments.size(); ++i) {
    for (const double value : instruments[i]) {
      readings.push_back({std::to_string(i), "", "", value});
    }
  }
  const StudyResult result = study(readings);
  const VarianceLine between = line(result, "part"), within = line(result, "repeatability");
  EXPECT_NEAR(between.sum_of_squares / 5.11462616000000e-02, 1.0, 1e-9);
  EXPECT_NEAR(within.sum_of_squares / 2.16636560000000e-01, 1.0, 1e-9);
  EXPECT_NEAR(*between.F / 1.18046237440255, 1.0, 1e-9);
  EXPECT_NEAR(result.variance.spreads.repeatability.sigma / 1.04076068334656e-01, 1.0, 1e-9);
}

// The same collection, SmLs04: seven digits, of which the first six are alike.
TEST(StudyOutside, NistStiffDataOneFactor) {
  std::vector<StudyReading> readings;
  for (int treatment = 1; treatment <= 9; ++treatment) {
    const double level = 1000000.0 + (treatment == 1 ? 0.4 : treatment % 2 == 0 ? 0.3 : 0.5);
    for (int replicate = 0; replicate < 21; ++replicate) {
      const double step = replicate == 0 ? 0.0 : replicate % 2 == 1 ? -0.1 : 0.1;
      readings.push_back({std::to_string(treatment), "", "", level + step});
    }
  }
  const StudyResult result = study(readings);
  // Doubles hold such data to 1e-10 of a million: 1e-9 of the steps of 0.1.
  EXPECT_NEAR(line(result, "part").sum_of_squares, 1.68, 1e-8);
  EXPECT_NEAR(line(result, "repeatability").sum_of_squares, 1.80, 1e-8);
  EXPECT_NEAR(*line(result, "part").F, 21.0, 1e-6);
}

// NIST/SEMATECH e-Handbook of Statistical Methods, 2.4.4 and 2.6.1: sums of squares of the
// repeatability of resistivity probes on five wafers, 60 degrees of freedom each, as sets of six
// repeats. Here sets of six with the same sums of squares.
TEST(StudyOutside, NistGaugeStudyPooledRepeatability) {
  const std::vector<double> sums_of_squares{0.48115, 0.69209, 0.48483, 1.21752, 0.30076};
  constexpr int kSets = 12;  // 6 days, 2 runs
  std::vector<StudyReading> readings;
  for (std::size_t wafer = 0; wafer < sums_of_squares.size(); ++wafer) {
    const double step = std::sqrt(sums_of_squares[wafer] / kSets / 6.0);
    for (int set = 0; set < kSets; ++set) {
      for (int repeat = 0; repeat < 6; ++repeat) {
        const double value = 95.0 + 0.01 * set + (repeat % 2 == 0 ? step : -step);
        readings.push_back(
            {"wafer " + std::to_string(wafer) + ", set " + std::to_string(set), "", "", value});
      }
    }
  }
  const StudyResult result = study(readings);
  EXPECT_EQ(line(result, "repeatability").dof, 300.0);
  EXPECT_NEAR(line(result, "repeatability").sum_of_squares, 3.17635, kHalf5);
  EXPECT_NEAR(result.variance.spreads.repeatability.sigma, 0.10290, kHalf5);
}

struct ConstantsRow {
  int n;
  double d2, d3, D3, D4, d2_star, K1, K2;
};

// The usual table of control-chart constants (A. J. Duncan, Quality Control and Industrial
// Statistics; D. C. Montgomery, Introduction to Statistical Quality Control, appendix VI), and d2*
// of one sample with both reciprocals as printed in AIAG's manual.
const std::vector<ConstantsRow> kConstants{
    {2, 1.128, 0.853, 0.0, 3.267, 1.41421, 0.8862, 0.7071},
    {3, 1.693, 0.888, 0.0, 2.575, 1.91154, 0.5908, 0.5231},
    {4, 2.059, 0.880, 0.0, 2.282, 2.23887, 0.4857, 0.4467},
    {5, 2.326, 0.864, 0.0, 2.115, 2.48125, 0.4299, 0.4030},
    {6, 2.534, 0.848, 0.0, 2.004, 2.67253, 0.3946, 0.3742},
    {7, 2.704, 0.833, 0.076, 1.924, 2.82980, 0.3698, 0.3534},
    {8, 2.847, 0.820, 0.136, 1.864, 2.96288, 0.3512, 0.3375},
    {9, 2.970, 0.808, 0.184, 1.816, 3.07793, 0.3367, 0.3249},
    {10, 3.078, 0.797, 0.223, 1.777, 3.17905, 0.3249, 0.3146}};

TEST(StudyOutside, ControlChartConstants) {
  for (const ConstantsRow& row : kConstants) {
    const RangeConstants c = range_constants(row.n);
    EXPECT_NEAR(c.d2, row.d2, kHalf3 + 1e-9) << row.n;
    EXPECT_NEAR(c.d3, row.d3, kHalf3 + 1e-9) << row.n;
    EXPECT_NEAR(c.lower_factor(), row.D3, kHalf3 + 1e-9) << row.n;
    EXPECT_NEAR(c.upper_factor(), row.D4, kHalf3 + 1e-6) << row.n;  // n = 5: 2.114499
    EXPECT_NEAR(c.d2_star(1), row.d2_star, kHalf5 + 1e-9) << row.n;
    EXPECT_NEAR(1.0 / c.d2, row.K1, kHalf4 + 1e-9) << row.n;
    EXPECT_NEAR(1.0 / c.d2_star(1), row.K2, kHalf4 + 1e-9) << row.n;
  }
}

// ISO 5725-6, clause 4 (from memory): two readings differ by at most 2.8 standard deviations, 95
// times in 100; 2.8 is 1.96 sqrt 2 = 2.77 rounded up. Reproducibility, there, holds repeatability.
TEST(StudyOutside, RepeatabilityAndReproducibilityLimits) {
  const StudySpreads spreads = study(readings_of(kClassic)).variance.spreads;
  EXPECT_NEAR(spreads.repeatability_limit() / spreads.repeatability.sigma, 2.77, kHalf2);
  EXPECT_NEAR(spreads.reproducibility_limit() / spreads.set_up.sigma, 2.77, kHalf2);
}

}  // namespace
}  // namespace evenbevel::test
