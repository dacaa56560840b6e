#include "evenbevel/study.hpp"

#include <cmath>
#include <limits>
#include <map>

#include <Eigen/QR>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/error.hpp"
#include "made_up.hpp"

namespace evenbevel::test {
namespace {

using testing::HasSubstr;

double variance(const Spread& spread) { return spread.sigma * spread.sigma; }

std::string refusal(const std::vector<StudyReading>& readings) {
  try {
    study(readings);
  } catch (const Error& error) {
    EXPECT_FALSE(error.do_next().empty());
    return error.what();
  }
  return "not refused";
}

std::string all_warnings(const StudyResult& result) {
  std::string text;
  for (const Remark& warning : result.warnings) {
    text += sentence(warning, LengthUnit::mm) + '\n';
  }
  return text;
}

// Two parts 2 apart, read at +-1 about their means: within SS 4, 2 dof; between SS 4, 1 dof.
TEST(StudyClosedForm, OnePersonTwoParts) {
  const StudyResult result = study(std::vector<StudyReading>{
      {"a", "", "1", -1}, {"a", "", "2", 1}, {"b", "", "1", 1}, {"b", "", "2", 3}});
  const StudySpreads& spreads = result.variance.spreads;
  EXPECT_NEAR(variance(spreads.repeatability), 2.0, 1e-12);
  EXPECT_NEAR(variance(*spreads.part), (4.0 - 2.0) / 2.0, 1e-12);
  EXPECT_FALSE(spreads.person);
  EXPECT_EQ(spreads.reproducibility.sigma, 0.0);
  EXPECT_NEAR(variance(spreads.total), 3.0, 1e-12);
  EXPECT_EQ(spreads.distinct_categories, 1);  // sqrt(2) * 1 / sqrt(2)
  ASSERT_TRUE(result.range);
  EXPECT_NEAR(result.range->mean_range, 2.0, 1e-12);
  EXPECT_NEAR(result.range->part_range, 2.0, 1e-12);
  EXPECT_NEAR(result.range->K3, 1.0 / std::sqrt(2.0), 5e-5);  // d2* of one range of two is sqrt 2
}

/// What least squares leaves of the readings beside 0/1 columns, one a level.
double left_over(const std::vector<StudyReading>& readings,
                 const std::vector<std::vector<std::string>>& levels_of) {
  std::map<std::pair<std::size_t, std::string>, Eigen::Index> column;
  for (std::size_t effect = 0; effect < levels_of.size(); ++effect) {
    for (const std::string& level : levels_of[effect]) {
      column.try_emplace({effect, level}, static_cast<Eigen::Index>(column.size()));
    }
  }
  const auto rows = static_cast<Eigen::Index>(readings.size());
  Eigen::MatrixXd Z = Eigen::MatrixXd::Zero(rows, static_cast<Eigen::Index>(column.size()));
  Eigen::VectorXd y(rows);
  for (Eigen::Index row = 0; row < rows; ++row) {
    y(row) = readings[static_cast<std::size_t>(row)].value;
    for (std::size_t effect = 0; effect < levels_of.size(); ++effect) {
      Z(row, column.at({effect, levels_of[effect][static_cast<std::size_t>(row)]})) = 1.0;
    }
  }
  return (y - Z * Z.completeOrthogonalDecomposition().solve(y)).squaredNorm();
}

// Each effect's sum of squares is what leaving it out of a least-squares fit adds to the residuals,
// whatever cells are empty or read more often.
TEST(StudyProperty, SumsOfSquaresAreThoseOfLeastSquares) {
  std::mt19937_64 rng = seeded("StudyLeastSquares", 0);
  int told = 0;
  for (int table = 0; table < 200; ++table) {
    std::vector<StudyReading> readings;
    std::vector<std::string> part, person, cell;
    const int parts = 2 + static_cast<int>(rng() % 5), persons = 2 + static_cast<int>(rng() % 6);
    for (int p = 0; p < parts; ++p) {
      for (int o = 0; o < persons; ++o) {
        for (auto repeats = rng() % 4; repeats > 0; --repeats) {
          part.push_back(std::to_string(p));
          person.push_back(std::to_string(o));
          cell.push_back(part.back() + "," + person.back());
          readings.push_back({part.back(), person.back(), "", 0.3 * p - 0.2 * o + normal(rng)});
        }
      }
    }
    StudyResult result;
    try {
      result = study(readings);
    } catch (const Error&) {
      continue;  // persons or parts in groups of their own, or nothing read twice
    }
    ++told;
    const double both = left_over(readings, {part, person});
    for (const VarianceLine& line : result.variance.lines) {
      const double expected = line.source == "part"          ? left_over(readings, {person}) - both
                              : line.source == "person"      ? left_over(readings, {part}) - both
                              : line.source == "interaction" ? both - left_over(readings, {cell})
                              : result.variance.lines.size() == 4 ? left_over(readings, {cell})
                                                                  : both;
      EXPECT_NEAR(line.sum_of_squares, expected, 1e-9) << line.source;
    }
  }
  EXPECT_GT(told, 100);
}

TEST(StudyClosedForm, AHundredThousandReadingsOfAThousandPartsAreStudied) {
  std::mt19937_64 rng = seeded("StudyLarge", 0);
  const MadeUp study_of{.parts = 1000, .persons = 4, .trials = 25, .interaction = 0.0};
  const StudyResult result = study(made_up(study_of, rng));
  EXPECT_NEAR(result.variance.spreads.repeatability.sigma, 0.4, 0.01);
  EXPECT_NEAR(result.variance.spreads.part->sigma, 1.0, 0.1);
}

TEST(StudyClosedForm, IdenticalReadingsHaveNoSpread) {
  const StudyResult result = study(std::vector<StudyReading>{
      {"a", "", "", 2.5}, {"a", "", "", 2.5}, {"b", "", "", 2.5}, {"b", "", "", 2.5}});
  EXPECT_EQ(result.variance.spreads.total.sigma, 0.0);
  EXPECT_FALSE(result.variance.spreads.distinct_categories);
  EXPECT_FALSE(result.variance.lines.front().F);
}

TEST(StudyClosedForm, ToleranceShareIsSixSpreadsOfItsWidth) {
  const std::vector<StudyReading> readings{
      {"a", "", "1", -1}, {"a", "", "2", 1}, {"b", "", "1", 1}, {"b", "", "2", 3}};
  const StudyResult result = study(readings, {.tolerance_width = 12.0 * std::sqrt(2.0)});
  EXPECT_NEAR(*result.variance.spreads.tolerance_share, 0.5, 1e-12);
}

// One part, several persons: the same sums with the names changed.
TEST(StudyClosedForm, OnePartTwoPersons) {
  const StudyResult result = study(std::vector<StudyReading>{
      {"a", "Ann", "1", -1}, {"a", "Ann", "2", 1}, {"a", "Bo", "1", 1}, {"a", "Bo", "2", 3}});
  const StudySpreads& spreads = result.variance.spreads;
  EXPECT_NEAR(variance(*spreads.person), 1.0, 1e-12);
  EXPECT_FALSE(spreads.part);
  EXPECT_FALSE(spreads.distinct_categories);
  EXPECT_NEAR(variance(spreads.set_up), 3.0, 1e-12);
  EXPECT_THAT(all_warnings(result), HasSubstr("One part only"));
}

// Each part once by each person: y = part + person + rest, by hand for a 2 x 2 table of 0, 0, 0, 4:
// part SS 4, person SS 4, rest SS 4, one dof each.
TEST(StudyClosedForm, ReadOnceEach) {
  const StudyResult result = study(std::vector<StudyReading>{
      {"a", "Ann", "1", 0}, {"a", "Bo", "1", 0}, {"b", "Ann", "1", 0}, {"b", "Bo", "1", 4}});
  for (const VarianceLine& line : result.variance.lines) {
    EXPECT_NEAR(line.sum_of_squares, 4.0, 1e-12) << line.source;
    EXPECT_EQ(line.dof, 1.0) << line.source;
  }
  EXPECT_EQ(result.variance.lines.size(), 3U);
  EXPECT_FALSE(result.range);
  EXPECT_THAT(all_warnings(result), HasSubstr("read once by each person"));
}

// A shift of all readings changes nothing, a factor scales every spread.
TEST(StudyProperty, ShiftAndScale) {
  std::mt19937_64 rng = seeded("StudyShift", 0);
  std::vector<StudyReading> readings = made_up({}, rng);
  const StudySpreads before = study(readings).variance.spreads;
  for (StudyReading& reading : readings) reading.value = 1000.0 + 3.0 * reading.value;
  const StudySpreads after = study(readings).variance.spreads;
  EXPECT_NEAR(after.repeatability.sigma, 3.0 * before.repeatability.sigma, 1e-9);
  EXPECT_NEAR(after.part->sigma, 3.0 * before.part->sigma, 1e-9);
  EXPECT_NEAR(after.set_up.interval95->high, 3.0 * before.set_up.interval95->high, 1e-8);
  EXPECT_EQ(after.distinct_categories, before.distinct_categories);
}

// Readings lost here and there: the variances stay unbiased. Over 400 studies a mean of them
// strays by about its own scatter over 20.
TEST(StudyProperty, MissingCellsLeaveTheVariancesUnbiased) {
  const MadeUp truth{.parts = 8, .persons = 4, .trials = 3};
  std::vector<double> sums(4, 0.0), squares(4, 0.0);
  constexpr int kStudies = 400;
  for (int number = 0; number < kStudies; ++number) {
    std::mt19937_64 rng = seeded("StudyMissing", number);
    std::vector<StudyReading> readings = made_up(truth, rng);
    std::erase_if(readings, [&](const StudyReading& r) {
      const bool lost_cell = r.part == "2" && r.person == "1";
      return lost_cell || uniform(rng, 0.0, 1.0) < 0.3;
    });
    const StudyResult result = study(readings, {.pool_above_p = 1.0});
    EXPECT_FALSE(result.balanced);
    EXPECT_FALSE(result.range);
    EXPECT_THAT(all_warnings(result), HasSubstr("part 2 by 1"));
    const StudySpreads& s = result.variance.spreads;
    const double values[] = {variance(*s.part), variance(*s.person), variance(*s.interaction),
                             variance(s.repeatability)};
    for (std::size_t i = 0; i < 4; ++i) {
      sums[i] += values[i];
      squares[i] += values[i] * values[i];
    }
  }
  const double truths[] = {1.0, 0.25, 0.09, 0.16};
  for (std::size_t i = 0; i < 4; ++i) {
    const double mean = sums[i] / kStudies;
    const double u = std::sqrt((squares[i] / kStudies - mean * mean) / kStudies);
    // What came out negative was set to zero, which lifts the mean of a small one a little.
    EXPECT_NEAR(mean, truths[i], 3.5 * u + 0.03 * truths[i]) << i;
  }
}

TEST(StudyProperty, BothMethodsAgreeOnAverage) {
  double variance_sum = 0.0, range_sum = 0.0;
  for (int number = 0; number < 100; ++number) {
    std::mt19937_64 rng = seeded("StudyBoth", number);
    const StudyResult result = study(made_up({.interaction = 0.0}, rng));
    variance_sum += result.variance.spreads.repeatability.sigma;
    range_sum += result.range->spreads.repeatability.sigma;
  }
  EXPECT_NEAR(variance_sum / 100.0, 0.4, 0.01);  // 60 or 78 dof: 0.4 / sqrt(2 * 60 * 100) = 0.004
  EXPECT_NEAR(range_sum / 100.0, 0.4, 0.01);
}

TEST(StudyBadInput, TooFewReadings) {
  EXPECT_THAT(refusal({}), HasSubstr("no reading"));
  EXPECT_THAT(refusal({{"a", "", "1", 0.1}}), HasSubstr("one reading only"));
}

TEST(StudyBadInput, NothingReadTwice) {
  EXPECT_THAT(refusal({{"a", "", "1", 0.1}, {"b", "", "1", 0.2}}), HasSubstr("read twice"));
}

TEST(StudyBadInput, PersonsWithoutACommonPart) {
  EXPECT_THAT(refusal({{"a", "Ann", "1", 0.1},
                       {"a", "Ann", "2", 0.2},
                       {"b", "Bo", "1", 0.3},
                       {"b", "Bo", "2", 0.1}}),
              HasSubstr("share no part"));
}

TEST(StudyBadInput, TheSameReadingTwice) {
  EXPECT_THAT(refusal({{"a", "Ann", "1", 0.1}, {"a", "Ann", "1", 0.2}}),
              HasSubstr("part 'a', person 'Ann', trial '1' is there twice"));
}

TEST(StudyBadInput, NotANumber) {
  EXPECT_THAT(
      refusal({{"a", "", "1", 0.1}, {"a", "", "2", std::numeric_limits<double>::quiet_NaN()}}),
      HasSubstr("no finite value"));
}

}  // namespace
}  // namespace evenbevel::test
