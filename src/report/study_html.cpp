#include <fmt/format.h>

#include "evenbevel/advice.hpp"
#include "evenbevel_version.hpp"
#include "report/page.hpp"
#include "report/setting_words.hpp"
#include "report/study_picture.hpp"
#include "report/study_words.hpp"
#include "report/verdict.hpp"
#include "report/write_files.hpp"

namespace evenbevel {
namespace {

Verdict colour_of(StudyGrade grade) {
  switch (grade) {
    case StudyGrade::good:
      return Verdict::within;
    case StudyGrade::with_care:
      return Verdict::unresolved;
    case StudyGrade::not_good_enough:
      return Verdict::outside;
    case StudyGrade::none:
      break;
  }
  return Verdict::none;
}

std::string headline(const StudyReport& report) {
  switch (study_grade(report)) {
    case StudyGrade::good:
      return "GOOD SET-UP";
    case StudyGrade::with_care:
      return "USE WITH CARE";
    case StudyGrade::not_good_enough:
      return "NOT GOOD ENOUGH";
    case StudyGrade::none:
      break;
  }
  return "STUDIED";
}

std::string escaped_cell(const std::string& text) { return "<td>" + escaped(text) + "</td>"; }
std::string escaped_cell(const InUnits& words) { return "<td>" + escaped(words) + "</td>"; }
std::string head_cell(const std::string& text) {
  return "<th scope=\"row\">" + escaped(text) + "</th>";
}

InUnits small_in_units(double value, ReadingKind kind) {
  return in_units([&](LengthUnit unit) { return small_amount(value, kind, unit); });
}

std::string spread_table(const StudySpreads& spreads, ReadingKind kind, bool intervals) {
  std::vector<std::vector<std::string>> rows;
  for (const SpreadRow& row : spread_rows(spreads)) {
    std::vector<std::string> cells = {head_cell(row.label),
                                      escaped_cell(small_in_units(row.spread.sigma, kind))};
    if (intervals) {
      cells.push_back(escaped_cell(in_units([&](LengthUnit unit) {
        if (!row.spread.interval95) return std::string();
        return small_interval(*row.spread.interval95, kind, unit);
      })));
    }
    if (spreads.part) {
      cells.push_back(escaped_cell(percent(variance_share(row.spread, spreads))));
      cells.push_back(escaped_cell(
          percent(spreads.total.sigma > 0.0 ? row.spread.sigma / spreads.total.sigma : 0.0)));
    }
    rows.push_back(cells);
  }
  std::vector<std::string> head = {"", "spread (1 sigma)"};
  if (intervals) head.emplace_back("95 % interval");
  if (spreads.part) {
    head.emplace_back("of the variance");
    head.emplace_back("of the total spread");
  }
  return plain_table(head, rows);
}

std::string variance_table(const VarianceAnalysis& variance) {
  std::vector<std::vector<std::string>> rows;
  const auto add = [&rows](const VarianceLine& line) {
    rows.push_back({head_cell(line.source), escaped_cell(fmt::format("{:.0f}", line.dof)),
                    escaped_cell(fmt::format("{:.4g}", line.sum_of_squares)),
                    escaped_cell(line.dof > 0.0 ? fmt::format("{:.4g}", line.mean_square()) : ""),
                    escaped_cell(line.F ? fmt::format("{:.3g}", *line.F) : ""),
                    escaped_cell(line.p ? fmt::format("{:.3f}", *line.p) : "")});
  };
  for (const VarianceLine& line : variance.lines) add(line);
  if (variance.pooled) add(*variance.pooled);
  return plain_table({"source", "degrees of freedom", "sum of squares", "mean square", "F", "p"},
                     rows) +
         (variance.interaction_pooled
              ? "<p class=\"quiet\">The interaction is not significant (p above 0.25) and is "
                "pooled with the repeatability.</p>\n"
              : "");
}

std::string range_table(const StudyReport& report) {
  const RangeAnalysis& range = *report.result->range;
  std::string rows = fact("mean range", small_in_units(range.mean_range, report.kind));
  rows += fact("range limit", small_in_units(range.range_limit, report.kind));
  if (range.K2 > 0.0) {
    rows += fact("persons' means differ by", small_in_units(range.person_difference, report.kind));
  }
  if (range.K3 > 0.0) {
    rows += fact("parts' means differ by", small_in_units(range.part_range, report.kind));
  }
  return facts(rows) + spread_table(range.spreads, report.kind, false);
}

std::string readings_table(const StudyReport& report) {
  std::vector<std::vector<std::string>> rows;
  for (const StudyReading& reading : report.readings) {
    rows.push_back({head_cell(reading.part), escaped_cell(reading.person),
                    escaped_cell(reading.trial), escaped_cell(in_units([&](LengthUnit unit) {
                      return amount(reading.value, report.kind, unit);
                    }))});
  }
  return plain_table({"part", "person", "trial", "reading"}, rows);
}

std::string how_to_read() {
  return list(std::vector<std::string>{
      "Repeatability: the same knife, clamped and photographed again by the same person. "
      "Reproducibility: what different persons add. Both together are the set-up.",
      "A spread is one standard deviation: two readings out of three lie within it, nineteen of "
      "twenty within two of them.",
      "Shares of the variance add up to 100 %; shares of the spread do not, for spreads add in "
      "squares.",
      "Two methods look at the same readings: the analysis of variance, and average and range, "
      "which can be done by hand. They need not agree to the last digit. The sentences above use "
      "the former.",
      "Below 10 % of the tolerance, or of the total spread where no tolerance is given, a set-up "
      "is good, up to 30 % it may do, above it will not (common practice)."});
}

std::string numbers(const StudyReport& report) {
  std::string html;
  const std::vector<InUnits> said =
      paired(study_sentences(report, LengthUnit::mm), study_sentences(report, LengthUnit::inch));
  html += list(said);
  if (report.result) {
    html += spread_table(report.result->variance.spreads, report.kind, true);
  }
  return html + section("Warnings", list(sentences(study_warnings(report))));
}

std::string drawings(const StudyReport& report) {
  if (!report.result) return "";
  return section("Readings", readings_drawing(report)) +
         section("What the spread is made of", spreads_drawing(report));
}

}  // namespace

std::string study_html(const StudyReport& report, const ReportSettings& settings) {
  const std::string title = headline(report);
  const PageHead head{.verdict = colour_of(study_grade(report)),
                      .headline = {title, title},
                      .what = sentence("repeatability study, " + quantity_words(report.quantity) +
                                       ": " + study_size(report)),
                      .photos = {},
                      .unit = settings.unit};
  std::string main;
  main += sheet("", numbers(report), drawings(report));
  main += section("What to do", list(sentences(study_advice(report))));
  main += section("How to read it", how_to_read(), kScreenOnly);
  if (report.result) {
    main += section("Analysis of variance", variance_table(report.result->variance));
    if (report.result->range) main += section("Average and range", range_table(report));
  }
  main += section("All readings", folded(std::to_string(report.readings.size()) + " readings",
                                         readings_table(report)));
  std::string rows = fact("program", "evenbevel " EVENBEVEL_VERSION);
  rows += fact("command", settings.command_line);
  if (!settings.from.empty()) rows += fact("settings from", settings_words(settings.from));
  main += section("How it was made", facts(rows));
  main += cautions_html();
  return page_html(head, main);
}

void write_study_report(const StudyReport& report, const ReportSettings& settings,
                        const std::filesystem::path& folder) {
  const std::string json = study_json(report, settings);
  const std::string csv = study_csv(report);
  const std::string html = study_html(report, settings);
  const std::array files = {ReportFile{"study.json", json}, ReportFile{"study.csv", csv},
                            ReportFile{"study.html", html}};
  write_files(folder, files);
}

}  // namespace evenbevel
