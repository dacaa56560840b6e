#include "evenbevel/edge_report_file.hpp"

#include "evenbevel/error.hpp"
#include "evenbevel/statement.hpp"

namespace evenbevel {
namespace {

Error not_of_an_edge(const std::filesystem::path& path, const std::string& why) {
  return {path.string() + " is no report of an edge view: " + why,
          "give the report.json that 'evenbevel edge ... -o FOLDER' wrote for this blade"};
}

std::optional<Measured> measured_in(const Statement& report, const char* quantity) {
  const StatedQuantity* stated = find(report.quantities, quantity);
  if (stated == nullptr) return std::nullopt;
  return Measured{stated->value.value, stated->value.u};
}

}  // namespace

EdgeReportValues read_edge_report(const std::filesystem::path& path) {
  const Statement report = read_statement_file(path);
  if (report.view != "edge") throw not_of_an_edge(path, "its view is \"" + report.view + "\"");
  const Facts& settings = report.provenance.settings;
  const std::optional<double> thickness_mm = settings.number("thickness");
  if (!thickness_mm) throw not_of_an_edge(path, "it does not say the stock thickness");
  const std::optional<Measured> land_mm = measured_in(report, "land_width");
  if (!land_mm) {
    throw Error(path.string() + " has no land width: its photo showed none",
                "measure the edge again once it is ground, or give --thickness and --land");
  }
  return {.thickness_mm = *thickness_mm,
          .thickness_u_mm = settings.number("thickness_u").value_or(0.0),
          .land_width_mm = *land_mm,
          .centreline_offset_mm = measured_in(report, "centreline_offset")};
}

}  // namespace evenbevel
