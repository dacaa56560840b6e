#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "evenbevel/monte_carlo.hpp"
#include "evenbevel/uncertainty.hpp"
#include "evenbevel/words.hpp"

namespace evenbevel {

// A repeatability study: parts (knives, or places on one) read several times, perhaps by several
// persons. How much of what is read is the set-up, and how much is the parts. All values of a study
// are in one unit, whichever: mm, degrees, or a plain number.

struct StudyReading {
  std::string part, person, trial;  ///< Person may be empty throughout: one person.
  double value = 0.0;
};

struct StudySettings {
  /// Persons and parts interact when the F test's p is at most this; above, the interaction is
  /// pooled with the repeatability. T. A. Bancroft, Biometrics 20 (1964) 427-442, gives 0.25.
  double pool_above_p = 0.25;
  std::optional<double> tolerance_width = {};  ///< Of the band allowed; +-t makes 2 t.
};

/// A standard deviation, as one of several that add in squares.
struct Spread {
  double sigma = 0.0;
  std::optional<Interval> interval95 = {};  ///< Empty: the method gives none.
  bool set_to_zero = false;                 ///< The variance came out negative.
};

struct StudySpreads {
  Spread repeatability;               ///< One person, one part, again and again.
  std::optional<Spread> person;       ///< Two or more persons.
  std::optional<Spread> interaction;  ///< Persons differ on some parts more than on others.
  Spread reproducibility;             ///< Person and interaction together; 0 for one person.
  Spread set_up;                      ///< Repeatability and reproducibility together.
  std::optional<Spread> part;         ///< Two or more parts.
  Spread total;
  /// Groups of parts that can be told apart: 1.41 part / set-up, cut to a whole number. Empty for
  /// one part, and when the set-up's spread is zero.
  std::optional<int> distinct_categories;
  /// 6 set-up / tolerance width, 1 is 100 %; empty without a tolerance.
  std::optional<double> tolerance_share;

  /// How far two readings of one part differ at most, 95 times in 100: by one person, and by any
  /// two. 1.96 sqrt 2 standard deviations (ISO 5725-6).
  double repeatability_limit() const;
  double reproducibility_limit() const;
};

/// One line of an analysis of variance.
struct VarianceLine {
  std::string source;  ///< "part", "person", "interaction", "repeatability".
  double dof = 0.0, sum_of_squares = 0.0;
  std::optional<double>
      F = {},
      p = {};  ///< Against the interaction where there is one, else repeatability.
  double mean_square() const { return sum_of_squares / dof; }
};

/// Random-effects analysis of variance. Crossed with two factors, or with one when there is a
/// single person or a single part. Each effect's sum of squares is adjusted for the other's, and
/// their expectations are taken from the layout as it is (C. R. Henderson, Biometrics 9 (1953)
/// 226-252, method 3, fitting of constants): with equal cells this is the usual table, with unequal
/// ones the estimates stay unbiased. Intervals: F. A. Graybill, C.-M. Wang, J. Amer. Statist.
/// Assoc. 75 (1980) 869-873, with the extension to differences of N. Ting et al., J. Statist.
/// Comput. Simul. 35 (1990) 135-143; with unequal cells they are approximate.
struct VarianceAnalysis {
  std::vector<VarianceLine> lines;     ///< Part, person, interaction, repeatability, as there are.
  bool interaction_pooled = false;     ///< Its line stays in the table, with F and p.
  std::optional<VarianceLine> pooled;  ///< Interaction and repeatability together.
  double total_dof = 0.0, total_sum_of_squares = 0.0;
  StudySpreads spreads;
};

/// Average-and-range method (common practice; AIAG, Measurement Systems Analysis, 4th ed. 2010,
/// chapter III). Constants from the distribution of the range, to four decimals as tables print
/// them.
struct RangeAnalysis {
  double mean_range = 0.0;
  double range_limit = 0.0;             ///< D4 mean range: a larger one deserves a look.
  std::vector<double> person_means;     ///< In the order of StudyResult::persons.
  double person_difference = 0.0;       ///< Largest less smallest of them.
  double part_range = 0.0;              ///< The same of the parts' means.
  double K1 = 0.0, K2 = 0.0, K3 = 0.0;  ///< Sigma per range; 0 where not used.
  StudySpreads spreads;
};

/// What one person read on one part.
struct StudyCell {
  std::size_t part = 0, person = 0;  ///< Indices of StudyResult::parts and persons.
  std::vector<double> values;        ///< Empty: a missing cell.
  double mean() const;               ///< @pre Not empty.
  double range() const;              ///< @pre Not empty.
};

struct StudyResult {
  std::vector<std::string> parts, persons;  ///< In the order met.
  std::vector<StudyCell> cells;             ///< All of them, part by part.
  std::size_t readings = 0;
  bool balanced = true;  ///< Every cell holds the same number.
  VarianceAnalysis variance;
  std::optional<RangeAnalysis> range;  ///< Needs equal cells of two or more.
  std::vector<Remark> warnings;
};

/// @throws Error  Fewer than two readings; nothing was read twice; no two persons read the same
///                part, so that person and part cannot be told apart; a value that is not finite;
///                the same part, person and trial twice.
StudyResult study(std::span<const StudyReading> readings, const StudySettings& settings = {});

/// Constants of the range of n normal readings of standard deviation 1.
struct RangeConstants {
  double d2 = 0.0, d3 = 0.0;    ///< Its mean and its standard deviation.
  double lower_factor() const;  ///< Control limits as multiples of the mean range, 3 sigma: D3
  double upper_factor() const;  ///< and D4 of the tables.
  /// Mean range of g samples to sigma when g is small: sqrt(d2^2 + d3^2 / g) (A. J. Duncan,
  /// Quality Control and Industrial Statistics, appendix; from memory).
  double d2_star(int g) const;
};
/// By numerical integration of the range's distribution. @pre n >= 2.
RangeConstants range_constants(int n);

/// What a chain reads on a gauge of known width, against that width.
struct BiasResult {
  std::size_t readings = 0;
  double mean = 0.0;
  Measured known;
  Measured bias;  ///< Mean less known; u holds the readings' scatter and the gauge's u alone.
  double t = 0.0, p = 0.0;  ///< Student's t against no bias, two-sided.
  bool seen = false;        ///< p below 0.05: the chain reads wrong by more than chance.
  Measured stated;  ///< Bias again, u as each reading's own report states it, and the gauge.
  bool within_stated = true;  ///< |bias| at most U95 of `stated`.
};

/// @param readings  Each with the u that its own report states, taken as common to all.
/// @throws Error  No reading; one reading and no u to judge it by.
BiasResult bias_against(std::span<const Measured> readings, const Measured& known);

}  // namespace evenbevel
