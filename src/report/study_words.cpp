#include "report/study_words.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "report/verdict.hpp"
#include "units/fixed.hpp"

namespace evenbevel {
namespace {

constexpr double kGoodShare = 0.10, kMostShare = 0.30;
constexpr int kWantedCategories = 5;  // common practice, as above

double in_display(double value, ReadingKind kind, LengthUnit unit) {
  if (kind != ReadingKind::length || unit == LengthUnit::mm) return value;
  return value / (unit == LengthUnit::inch ? kMmPerInch : kMmPerThou);
}

/// Past these no gauge of the trade reads.
int most_decimals(LengthUnit unit) {
  if (unit == LengthUnit::mm) return 4;
  return unit == LengthUnit::inch ? 5 : 2;
}

const char* unit_name(ReadingKind kind, LengthUnit unit) {
  if (kind == ReadingKind::angle) return " deg";
  if (kind == ReadingKind::number) return "";
  if (unit == LengthUnit::thou) return " thou";
  return unit == LengthUnit::mm ? " mm" : " in";
}

std::string counted(std::size_t count, const std::string& what) {
  return std::to_string(count) + " " + what + (count == 1 ? "" : "s");
}

std::string share_sentence(const StudySpreads& spreads) {
  const double set_up = variance_share(spreads.set_up, spreads);
  return "Of what you read, " + percent(set_up) + " is the set-up, " + percent(1.0 - set_up) +
         " is the knives (shares of the variance).";
}

std::string limit_sentence(const StudyReport& report, LengthUnit unit) {
  const StudySpreads& spreads = report.result->variance.spreads;
  const ReadingKind kind = report.kind;
  std::string text = std::string("Two readings of one ") + (report.bias ? "gauge" : "knife") +
                     " differ by less than " +
                     small_amount(spreads.repeatability_limit(), kind, unit);
  if (spreads.person) {
    text += " by one person and less than " +
            small_amount(spreads.reproducibility_limit(), kind, unit) + " by any two";
  }
  return text + ", 95 times in 100.";
}

std::string category_sentence(int categories) {
  if (categories < 2) return "The set-up cannot tell such knives apart.";
  return "The set-up tells such knives apart in " + std::to_string(categories) + " groups; " +
         std::to_string(kWantedCategories) + " or more are wanted.";
}

std::string tolerance_sentence(double share, double tolerance, ReadingKind kind, LengthUnit unit) {
  return "Of the tolerance, " + amount(tolerance, kind, unit) + " either way, the set-up uses up " +
         percent(share) + " (six times its spread, against the tolerance's width).";
}

std::string grade_sentence(StudyGrade grade) {
  switch (grade) {
    case StudyGrade::good:
      return "Good: below 10 %.";
    case StudyGrade::with_care:
      return "To be used with care: between 10 and 30 %.";
    case StudyGrade::not_good_enough:
      return "Not good enough: above 30 %.";
    case StudyGrade::none:
      break;
  }
  return "";
}

double grade_share(const StudyReport& report) {
  const StudySpreads& spreads = report.result->variance.spreads;
  if (spreads.tolerance_share) return *spreads.tolerance_share;
  return spreads.total.sigma > 0.0 ? spreads.set_up.sigma / spreads.total.sigma : 0.0;
}

}  // namespace

std::string_view name(StudyGrade grade) {
  switch (grade) {
    case StudyGrade::none:
      return "none";
    case StudyGrade::good:
      return "good";
    case StudyGrade::with_care:
      return "with_care";
    case StudyGrade::not_good_enough:
      return "not_good_enough";
  }
  return "";
}

StudyGrade study_grade(const StudyReport& report) {
  if (!report.result) return StudyGrade::none;
  const StudySpreads& spreads = report.result->variance.spreads;
  if (!spreads.tolerance_share && !spreads.part) return StudyGrade::none;
  const double share = grade_share(report);
  if (share < kGoodShare) return StudyGrade::good;
  return share <= kMostShare ? StudyGrade::with_care : StudyGrade::not_good_enough;
}

std::vector<SpreadRow> spread_rows(const StudySpreads& spreads) {
  std::vector<SpreadRow> rows{{"repeatability", "repeatability", spreads.repeatability}};
  if (spreads.person) {
    rows.push_back({"person", "between persons", *spreads.person});
    if (spreads.interaction) {
      rows.push_back({"interaction", "person by knife", *spreads.interaction});
    }
    rows.push_back({"reproducibility", "reproducibility", spreads.reproducibility, true});
  }
  rows.push_back({"set_up", "set-up, all of it", spreads.set_up, true});
  if (spreads.part) {
    rows.push_back({"part", "between knives", *spreads.part});
    rows.push_back({"total", "total", spreads.total, true});
  }
  return rows;
}

std::string small_amount(double value, ReadingKind kind, LengthUnit unit) {
  const double shown = in_display(value, kind, unit);
  const int most = kind == ReadingKind::angle ? 3 : most_decimals(unit);
  int decimals = most;
  if (kind == ReadingKind::number) decimals = 9;
  if (std::abs(shown) > 0.0) {
    const int two_digits = 1 - static_cast<int>(std::floor(std::log10(std::abs(shown))));
    decimals = std::clamp(two_digits, 0, decimals);
  } else {
    decimals = std::min(decimals, most);
  }
  return fixed(shown, decimals) + unit_name(kind, unit);
}

std::string small_interval(const Interval& interval, ReadingKind kind, LengthUnit unit) {
  const std::string low = small_amount(interval.low, kind, unit);
  return low.substr(0, low.find(' ')) + " to " + small_amount(interval.high, kind, unit);
}

std::string amount(double value, ReadingKind kind, LengthUnit unit) {
  const double shown = in_display(value, kind, unit);
  if (kind == ReadingKind::number) return fmt::format("{:.6g}", shown);
  const int decimals = kind == ReadingKind::angle ? 2 : most_decimals(unit);
  return fixed(shown, decimals) + unit_name(kind, unit);
}

double variance_share(const Spread& spread, const StudySpreads& of) {
  if (of.total.sigma <= 0.0) return 0.0;
  return spread.sigma * spread.sigma / (of.total.sigma * of.total.sigma);
}

std::string quantity_words(const std::string& quantity) {
  std::string words = quantity;
  std::replace(words.begin(), words.end(), '_', ' ');
  return words;
}

std::string study_size(const StudyReport& report) {
  if (!report.result) return counted(report.readings.size(), "reading");
  const StudyResult& result = *report.result;
  return counted(result.parts.size(), "part") + ", " + counted(result.persons.size(), "person") +
         ", " + counted(result.readings, "reading");
}

std::string bias_sentence(const StudyReport& report, LengthUnit unit) {
  const BiasResult& bias = *report.bias;
  const ReadingKind kind = report.kind;
  std::string text = "The gauge of " + amount(bias.known.value, kind, unit) + " was read as " +
                     amount(bias.mean, kind, unit) + " on average: bias " +
                     (bias.bias.value < 0.0 ? "" : "+") +
                     small_amount(bias.bias.value, kind, unit) + ", U95 " +
                     small_amount(U95(bias.bias), kind, unit) + ". ";
  text += bias.seen ? "That is more than chance" : "Chance alone may do that";
  text += " (t " + fixed(bias.t, 2);
  if (std::isfinite(bias.bias.dof)) {
    text += ", " + fixed(std::floor(bias.bias.dof + 1e-9), 0) + " degrees of freedom";
  }
  constexpr double kLeastShown = 0.001;
  text += bias.p < kLeastShown ? ", p below 0.001)" : ", p " + fixed(bias.p, 3) + ")";
  if (bias.stated.u <= bias.known.u) return text + ".";
  return text + (bias.within_stated ? ", and it lies within" : ", and it lies outside of") +
         " what the reports state, " + small_amount(U95(bias.stated), kind, unit) + ".";
}

std::vector<std::string> study_sentences(const StudyReport& report, LengthUnit unit) {
  std::vector<std::string> all;
  if (report.result) {
    const StudySpreads& spreads = report.result->variance.spreads;
    if (spreads.part) all.push_back(share_sentence(spreads));
    all.push_back(limit_sentence(report, unit));
    if (spreads.distinct_categories) {
      all.push_back(category_sentence(*spreads.distinct_categories));
    }
    if (spreads.tolerance_share && report.tolerance) {
      all.push_back(
          tolerance_sentence(*spreads.tolerance_share, *report.tolerance, report.kind, unit));
    }
    const StudyGrade grade = study_grade(report);
    if (grade != StudyGrade::none) {
      std::string of = "The set-up's share of the ";
      of += spreads.tolerance_share ? "tolerance" : "total spread";
      all.push_back(of + " is " + percent(grade_share(report)) + ". " + grade_sentence(grade));
    }
  }
  if (report.bias) all.push_back(bias_sentence(report, unit));
  return all;
}

std::vector<Remark> study_advice(const StudyReport& report) {
  std::vector<Remark> all;
  if (report.result) {
    const StudySpreads& spreads = report.result->variance.spreads;
    if (spreads.reproducibility.sigma > spreads.repeatability.sigma) {
      all.push_back(remark<RemarkCode::agree_on_set_up>());
    } else if (study_grade(report) != StudyGrade::good) {
      all.push_back(remark<RemarkCode::steady_set_up>());
    }
  }
  if (report.bias && report.bias->seen) all.push_back(remark<RemarkCode::look_for_bias>());
  return all;
}

std::vector<Remark> study_warnings(const StudyReport& report) {
  std::vector<Remark> all;
  for (const StudyLeftOut& left_out : report.left_out) {
    all.push_back(remark<RemarkCode::reading_left_out>(left_out.file, left_out.reason));
  }
  if (report.result) {
    all.insert(all.end(), report.result->warnings.begin(), report.result->warnings.end());
  }
  return all;
}

}  // namespace evenbevel
