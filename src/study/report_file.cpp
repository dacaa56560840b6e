#include <fstream>

#include <nlohmann/json.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/study_input.hpp"

namespace evenbevel {
namespace {

using nlohmann::json;

std::optional<Measured> measured_of(const json& entry) {
  if (!entry.is_object()) return std::nullopt;
  const auto value = entry.find("value");
  if (value == entry.end() || !value->is_number()) return std::nullopt;
  Measured measured{.value = value->get<double>(), .u = 0.0};
  const auto u = entry.find("u");
  if (u != entry.end() && u->is_number()) measured.u = u->get<double>();
  return measured;
}

/// Value and u, each the mean over the stations: what they share does not average out.
std::optional<Measured> mean_over_stations(const json& report, const std::string& quantity) {
  const auto stations = report.find("stations");
  if (stations == report.end() || !stations->is_array()) return std::nullopt;
  Measured sum{.value = 0.0, .u = 0.0};
  double count = 0.0;
  for (const json& station : *stations) {
    if (!station.is_object() || !station.contains(quantity)) continue;
    const std::optional<Measured> reading = measured_of(station[quantity]);
    if (!reading) continue;
    sum.value += reading->value;
    sum.u += reading->u;
    count += 1.0;
  }
  if (count == 0.0) return std::nullopt;
  return Measured{.value = sum.value / count, .u = sum.u / count};
}

json parsed(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) throw Error(path.string() + " cannot be read", "check the path");
  json report = json::parse(file, nullptr, false);
  const bool ours = report.is_object() && report.contains("schema") &&
                    report["schema"] == "evenbevel.report/1" && report.contains("view") &&
                    report["view"].is_string() && report.contains("quantities") &&
                    report["quantities"].is_object();
  if (!ours) {
    throw Error(path.string() + " is not a report of evenbevel",
                "give the report.json that a measuring command wrote with -o");
  }
  return report;
}

}  // namespace

StudyReportFile read_study_report(const std::filesystem::path& report_json,
                                  const std::string& quantity) {
  const json report = parsed(report_json);
  StudyReportFile out;
  out.view = report["view"].get<std::string>();
  for (const auto& [name, entry] : report["quantities"].items()) {
    if (measured_of(entry)) out.quantities.push_back(name);
  }
  if (report["quantities"].contains(quantity)) {
    out.reading = measured_of(report["quantities"][quantity]);
  }
  if (!out.reading && quantity == "thickness") out.reading = mean_over_stations(report, quantity);
  out.height_given = report.contains("settings") && report["settings"].is_object() &&
                     report["settings"].contains("edge_height");
  return out;
}

}  // namespace evenbevel
