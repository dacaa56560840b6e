#include <cmath>
#include <map>

#include <gtest/gtest.h>

#include "evenbevel/plan.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

TEST(PlanDrillsClosedForm, EachSeriesRisesAndIsWhole) {
  std::map<DrillSeries, int> counts;
  std::map<DrillSeries, double> last_mm;
  for (const Drill& drill : drills()) {
    EXPECT_GT(drill.diameter_mm, last_mm[drill.series]) << drill.name;
    last_mm[drill.series] = drill.diameter_mm;
    ++counts[drill.series];
  }
  EXPECT_EQ(counts[DrillSeries::number], 80);
  EXPECT_EQ(counts[DrillSeries::letter], 26);
  EXPECT_EQ(counts[DrillSeries::fraction], 64);
  // BS 328: 32 sizes below 1 mm, 40 below 3 mm, 110 below 14 mm, 45 to 25 mm (and three above).
  EXPECT_EQ(counts[DrillSeries::metric], 32 + 40 + 110 + 45);
}

// The names of fractions and metric sizes are lengths: they say their own diameter.
TEST(PlanDrillsClosedForm, NamesSayTheDiameter) {
  int named = 0;
  for (const Drill& drill : drills()) {
    const std::optional<double> mm = parse_length_mm(drill.name, LengthUnit::mm);
    if (drill.series == DrillSeries::fraction || drill.series == DrillSeries::metric) {
      ASSERT_TRUE(mm.has_value()) << drill.name;
      EXPECT_NEAR(*mm, drill.diameter_mm, 1e-12) << drill.name;
      ++named;
    } else {
      EXPECT_FALSE(mm.has_value()) << drill.name;
    }
  }
  EXPECT_EQ(named, 64 + 227);
}

TEST(PlanDrillsClosedForm, SizesAreFoundByName) {
  for (const char* text : {"#43", "# 43", "no43", "No. 43", "NO 43"}) {
    ASSERT_TRUE(find_drill(text).has_value()) << text;
    EXPECT_NEAR(find_drill(text)->diameter_mm, 0.089 * 25.4, 1e-12) << text;
  }
  EXPECT_NEAR(find_drill("f")->diameter_mm, 0.257 * 25.4, 1e-12);
  for (const char* text : {"#0", "#81", "43", "AA", "", "#", "no", "3/32"}) {
    EXPECT_FALSE(find_drill(text).has_value()) << text;
  }
}

// A drill lying on the plate touches it below its axis: the axis stands at half the diameter.
// Scribed from either face at that height, the lines leave stock - d between them.
TEST(PlanDrillsProperty, ChoicesAreTheNeighboursInEachSeries) {
  for (int i = 0; i < 2000; ++i) {
    std::mt19937_64 rng = test::seeded("PlanDrillsProperty", i);
    const double stock_mm = test::uniform(rng, 1.0, 8.0);
    const double land_mm = test::uniform(rng, 0.1, 0.8);
    double least_miss = 3.0 * land_mm;
    for (const Drill& drill : drills()) {
      const double gap_mm = stock_mm - drill.diameter_mm;
      if (gap_mm > 0.0 && gap_mm <= 3.0 * land_mm) {
        least_miss = std::min(least_miss, std::abs(gap_mm - land_mm));
      }
    }
    int nearest = 0;
    std::map<DrillSeries, int> counts;
    for (const DrillChoice& choice : drill_choices(stock_mm, land_mm)) {
      EXPECT_NEAR(2.0 * choice.line_mm + choice.gap_mm, stock_mm, 1e-12);
      EXPECT_NEAR(2.0 * choice.line_mm, choice.drill.diameter_mm, 1e-12);
      EXPECT_GT(choice.gap_mm, 0.0);
      EXPECT_LE(++counts[choice.drill.series], 2);
      if (!choice.nearest) continue;
      ++nearest;
      EXPECT_NEAR(std::abs(choice.gap_mm - land_mm), least_miss, 1e-12);
    }
    EXPECT_EQ(nearest, 1) << stock_mm << ' ' << land_mm;
  }
}

TEST(PlanDrillsClosedForm, ADrillOfTheWantedSizeLeavesTheLandItself) {
  const double stock_mm = 0.13 * kMmPerInch;  // 0.130 in less number 32, 0.1160 in
  for (const DrillChoice& choice : drill_choices(stock_mm, 0.014 * kMmPerInch)) {
    if (!choice.nearest) continue;
    EXPECT_EQ(choice.drill.name, "#32");
    EXPECT_NEAR(choice.gap_mm, 0.014 * kMmPerInch, 1e-9);
  }
}

}  // namespace
}  // namespace evenbevel
