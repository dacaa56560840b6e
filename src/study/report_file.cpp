#include "evenbevel/statement.hpp"
#include "evenbevel/study_input.hpp"

namespace evenbevel {
namespace {

/// Value and u, each the mean over the stations: what they share does not average out.
std::optional<Measured> mean_over_stations(const Statement& report, const std::string& quantity) {
  Measured sum{.value = 0.0, .u = 0.0};
  double count = 0.0;
  for (const StatedStation& station : report.stations) {
    const StatedQuantity* reading = find(station.quantities, quantity);
    if (reading == nullptr) continue;
    sum.value += reading->value.value;
    sum.u += reading->value.u;
    count += 1.0;
  }
  if (count == 0.0) return std::nullopt;
  return Measured{.value = sum.value / count, .u = sum.u / count};
}

}  // namespace

StudyReportFile read_study_report(const std::filesystem::path& report_json,
                                  const std::string& quantity) {
  const Statement report = read_statement_file(report_json);
  StudyReportFile out;
  out.view = report.view;
  for (const StatedQuantity& stated : report.quantities) {
    if (stated.depth_mm) continue;
    out.quantities.push_back(stated.id);
    if (stated.id == quantity) out.reading = Measured{stated.value.value, stated.value.u};
  }
  for (const DeclaredQuantity& declared : report.declared) {
    if (declared.id == quantity) out.kind = declared.kind;
  }
  if (!out.reading && quantity == "thickness") out.reading = mean_over_stations(report, quantity);
  out.height_given = report.provenance.settings.find("edge_height") != nullptr;
  return out;
}

}  // namespace evenbevel
