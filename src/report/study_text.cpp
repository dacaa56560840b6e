#include "report/study_words.hpp"
#include "report/text_pieces.hpp"
#include "report/verdict.hpp"

namespace evenbevel {
namespace {

std::string table_row(const std::string& label, const std::string& spread,
                      const std::string& interval, const std::string& share,
                      const std::string& by_ranges) {
  std::string line =
      padded(label, 20) + padded(spread, 13) + padded(interval, 26) + padded(share, 14) + by_ranges;
  line.erase(line.find_last_not_of(' ') + 1);
  return line + "\n";
}

std::string interval_text(const Spread& spread, ReadingKind kind, LengthUnit unit) {
  if (!spread.interval95) return "";
  return small_interval(*spread.interval95, kind, unit);
}

std::string spread_table(const StudyReport& report, LengthUnit unit) {
  const StudySpreads& spreads = report.result->variance.spreads;
  std::vector<SpreadRow> by_ranges;
  if (report.result->range) by_ranges = spread_rows(report.result->range->spreads);
  std::string text =
      table_row("", "spread", "95 % interval", "of variance", by_ranges.empty() ? "" : "by ranges");
  for (const SpreadRow& row : spread_rows(spreads)) {
    std::string other;
    for (const SpreadRow& candidate : by_ranges) {
      if (std::string_view(candidate.name) == row.name) {
        other = small_amount(candidate.spread.sigma, report.kind, unit);
      }
    }
    text += table_row(row.label, small_amount(row.spread.sigma, report.kind, unit),
                      interval_text(row.spread, report.kind, unit),
                      spreads.part ? percent(variance_share(row.spread, spreads)) : "", other);
  }
  return text;
}

}  // namespace

std::string study_text(const StudyReport& report, const ReportSettings& settings) {
  std::string text = text_wrapped(
      "", "repeatability study, " + quantity_words(report.quantity) + ": " + study_size(report));
  if (report.result) text += spread_table(report, settings.unit);
  for (const std::string& said : study_sentences(report, settings.unit)) {
    text += text_wrapped("", said);
  }
  for (const Remark& advice : study_advice(report)) {
    text += text_wrapped("do: ", sentence(advice, settings.unit));
  }
  return text + text_warnings(study_warnings(report), settings.unit);
}

}  // namespace evenbevel
