#include "evenbevel/edge_report_file.hpp"

#include <fstream>
#include <optional>
#include <string>

#include <nlohmann/json.hpp>

#include "evenbevel/error.hpp"

namespace evenbevel {
namespace {

using nlohmann::json;

Error not_a_report(const std::filesystem::path& path, const std::string& why) {
  return {path.string() + " is no report of an edge view: " + why,
          "give the report.json that 'evenbevel edge ... -o FOLDER' wrote for this blade"};
}

json parsed(const std::filesystem::path& path) {
  if (std::filesystem::is_directory(path)) throw not_a_report(path, "it is a folder");
  std::ifstream file(path);
  if (!file) throw not_a_report(path, "it cannot be opened");
  json report = json::parse(file, nullptr, false);
  if (!report.is_object()) throw not_a_report(path, "it is not JSON, or was cut short");
  if (report.value("schema", json()) != "evenbevel.report/1") {
    throw not_a_report(path, "its schema is not evenbevel.report/1");
  }
  if (report.value("view", json()) != "edge") {
    throw not_a_report(path, "its view is " + report.value("view", json()).dump());
  }
  return report;
}

std::optional<double> number(const json& object, const char* key) {
  if (!object.is_object()) return std::nullopt;
  const auto found = object.find(key);
  if (found == object.end() || !found->is_number()) return std::nullopt;
  return found->get<double>();
}

std::optional<Measured> quantity(const json& report, const char* name) {
  const json all = report.value("quantities", json::object());
  if (!all.is_object() || !all.contains(name)) return std::nullopt;
  const std::optional<double> value = number(all.at(name), "value");
  const std::optional<double> u = number(all.at(name), "u");
  if (!value || !u) return std::nullopt;
  return Measured{*value, *u};
}

}  // namespace

EdgeReportValues read_edge_report(const std::filesystem::path& path) {
  const json report = parsed(path);
  const json settings = report.value("settings", json::object());
  const std::optional<double> thickness_mm = number(settings, "thickness");
  if (!thickness_mm) throw not_a_report(path, "it does not say the stock thickness");
  const std::optional<Measured> land_mm = quantity(report, "land_width");
  if (!land_mm) {
    throw Error(path.string() + " has no land width: its photo showed none",
                "measure the edge again once it is ground, or give --thickness and --land");
  }
  return {.thickness_mm = *thickness_mm,
          .thickness_u_mm = number(settings, "thickness_u").value_or(0.0),
          .land_width_mm = *land_mm,
          .centreline_offset_mm = quantity(report, "centreline_offset")};
}

}  // namespace evenbevel
