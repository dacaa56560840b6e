#pragma once

#include <string>
#include <vector>

#include "evenbevel/study_report.hpp"

namespace evenbevel {

/// A spread of the study as the tables show it.
struct SpreadRow {
  const char* name;   ///< JSON key.
  const char* label;  ///< Plain words.
  Spread spread;
  bool sum = false;  ///< Of rows above it.
};
std::vector<SpreadRow> spread_rows(const StudySpreads& spreads);

/// A spread or a difference with its unit, to two significant digits.
std::string small_amount(double value, ReadingKind kind, LengthUnit unit);
/// "0.17 to 0.24 mm".
std::string small_interval(const Interval& interval, ReadingKind kind, LengthUnit unit);
/// A reading with its unit.
std::string amount(double value, ReadingKind kind, LengthUnit unit);

/// Share of the total variance.
double variance_share(const Spread& spread, const StudySpreads& of);

/// What the study says, in the order of what a maker wants to know.
std::vector<std::string> study_sentences(const StudyReport& report, LengthUnit unit);
/// What to do about the largest part of it.
std::vector<Remark> study_advice(const StudyReport& report);
/// What was left out, what to be careful with.
std::vector<Remark> study_warnings(const StudyReport& report);

/// "3 parts, 2 persons, 18 readings".
std::string study_size(const StudyReport& report);
/// "centreline offset" from "centreline_offset".
std::string quantity_words(const std::string& quantity);

std::string bias_sentence(const StudyReport& report, LengthUnit unit);

}  // namespace evenbevel
