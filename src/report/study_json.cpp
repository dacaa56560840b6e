#include "evenbevel_version.hpp"
#include "report/csv_pieces.hpp"
#include "report/study_words.hpp"
#include "statement/json.hpp"

namespace evenbevel {
namespace {

constexpr int kStudyDecimals = 7;  // sums of squares of some micrometres

Json interval_json(const Interval& interval) {
  return {rounded(interval.low, kStudyDecimals), rounded(interval.high, kStudyDecimals)};
}

Json spreads_json(const StudySpreads& spreads) {
  Json json = Json::object();
  for (const SpreadRow& row : spread_rows(spreads)) {
    Json& entry = json[row.name] = {{"sigma", rounded(row.spread.sigma, kStudyDecimals)}};
    if (row.spread.interval95) entry["interval95"] = interval_json(*row.spread.interval95);
    if (row.spread.set_to_zero) entry["set_to_zero"] = true;
    if (spreads.part) entry["variance_share"] = rounded(variance_share(row.spread, spreads), 5);
  }
  if (spreads.distinct_categories) json["distinct_categories"] = *spreads.distinct_categories;
  put(json, "tolerance_share", spreads.tolerance_share, 5);
  json["repeatability_limit"] = rounded(spreads.repeatability_limit(), kStudyDecimals);
  json["reproducibility_limit"] = rounded(spreads.reproducibility_limit(), kStudyDecimals);
  return json;
}

Json line_json(const VarianceLine& line) {
  Json json = {{"source", line.source},
               {"dof", line.dof},
               {"sum_of_squares", rounded(line.sum_of_squares, 9)},
               {"mean_square", rounded(line.mean_square(), 9)}};
  put(json, "F", line.F, 5);
  put(json, "p", line.p, 5);
  return json;
}

Json variance_json(const VarianceAnalysis& variance) {
  Json json = {{"lines", Json::array()}};
  for (const VarianceLine& line : variance.lines) json["lines"].push_back(line_json(line));
  json["interaction_pooled"] = variance.interaction_pooled;
  if (variance.pooled) json["pooled"] = line_json(*variance.pooled);
  json["total"] = {{"dof", variance.total_dof},
                   {"sum_of_squares", rounded(variance.total_sum_of_squares, 9)}};
  json["spreads"] = spreads_json(variance.spreads);
  return json;
}

Json range_json(const RangeAnalysis& range) {
  Json json = {{"mean_range", rounded(range.mean_range, kStudyDecimals)},
               {"range_limit", rounded(range.range_limit, kStudyDecimals)},
               {"person_means", Json::array()},
               {"person_difference", rounded(range.person_difference, kStudyDecimals)},
               {"part_range", rounded(range.part_range, kStudyDecimals)}};
  for (const double mean : range.person_means) {
    json["person_means"].push_back(rounded(mean, kStudyDecimals));
  }
  for (const auto& [key, constant] :
       {std::pair("K1", range.K1), std::pair("K2", range.K2), std::pair("K3", range.K3)}) {
    if (constant > 0.0) json[key] = constant;
  }
  json["spreads"] = spreads_json(range.spreads);
  return json;
}

Json measured_plain(const Measured& value) {
  Json json = {{"value", rounded(value.value, kStudyDecimals)},
               {"u", rounded(value.u, kStudyDecimals)},
               {"U95", rounded(U95(value), kStudyDecimals)}};
  if (std::isfinite(value.dof)) json["dof"] = rounded(value.dof, 1);
  return json;
}

Json bias_json(const BiasResult& bias) {
  return {{"readings", bias.readings},
          {"known", measured_plain(bias.known)},
          {"mean", rounded(bias.mean, kStudyDecimals)},
          {"bias", measured_plain(bias.bias)},
          {"t", rounded(bias.t, 4)},
          {"p", rounded(bias.p, 5)},
          {"seen", bias.seen},
          {"stated", measured_plain(bias.stated)},
          {"within_stated", bias.within_stated}};
}

Json readings_json(const StudyReport& report) {
  Json json = Json::array();
  for (const StudyReading& reading : report.readings) {
    Json entry = {{"part", reading.part}};
    put(entry, "person", reading.person);
    put(entry, "trial", reading.trial);
    entry["value"] = rounded(reading.value, kStudyDecimals);
    json.push_back(entry);
  }
  return json;
}

const char* unit_of(ReadingKind kind) {
  switch (kind) {
    case ReadingKind::length:
      return "mm";
    case ReadingKind::angle:
      return "deg";
    case ReadingKind::number:
      break;
  }
  return "none";
}

}  // namespace

std::string study_json(const StudyReport& report, const ReportSettings& settings) {
  Json json = {{"schema", "evenbevel.study/1"},
               {"program", {{"name", "evenbevel"}, {"version", EVENBEVEL_VERSION}}}};
  put(json["program"], "command_line", settings.command_line);
  for (const auto& [setting, source] : settings.from) {
    if (const auto* words = std::get_if<std::string>(&source))
      json["settings"]["from"][setting] = *words;
  }
  json["quantity"] = report.quantity;
  json["unit"] = unit_of(report.kind);
  put(json, "tolerance", report.tolerance);
  json["grade"] = name(study_grade(report));
  if (report.result) {
    json["parts"] = report.result->parts;
    json["persons"] = report.result->persons;
    json["balanced"] = report.result->balanced;
    json["analysis_of_variance"] = variance_json(report.result->variance);
    if (report.result->range) json["average_and_range"] = range_json(*report.result->range);
  }
  if (report.bias) json["bias"] = bias_json(*report.bias);
  json["readings"] = readings_json(report);
  json["left_out"] = Json::array();
  for (const StudyLeftOut& left_out : report.left_out) {
    json["left_out"].push_back({{"file", left_out.file}, {"reason", left_out.reason.mm}});
  }
  json["said"] = study_sentences(report, LengthUnit::mm);
  json["advice"] = sentences(study_advice(report), LengthUnit::mm);
  json["warnings"] = sentences(study_warnings(report), LengthUnit::mm);
  return json_text(json);
}

std::string study_csv(const StudyReport& report) {
  std::string text = "part,person,trial,value\n";
  for (const StudyReading& reading : report.readings) {
    text += CsvRow()
                .text(csv_text(reading.part))
                .text(csv_text(reading.person))
                .text(csv_text(reading.trial))
                .number(reading.value, kStudyDecimals)
                .line();
  }
  return text;
}

}  // namespace evenbevel
