#include "evenbevel/report.hpp"
#include "report/csv_pieces.hpp"
#include "report/edge_quantities.hpp"

namespace evenbevel {
namespace {

std::string heading() {
  CsvRow row;
  row.text("x_mm").text("px_x").text("px_y");
  for (const StationQuantity& quantity : station_quantities()) {
    add_columns(row, quantity.name, quantity.kind);
  }
  return row.text("residual_px").line();
}

std::string row_of(const EdgeStation& station) {
  CsvRow row;
  row.length_mm(station.x_mm);
  row.px(anything_seen(station) ? std::optional(station.px) : std::nullopt);
  for (const StationQuantity& quantity : station_quantities()) {
    row.measured_value(station.*quantity.member, quantity.kind);
  }
  const bool fitted = station.centreline_offset_mm.has_value();
  row.px(fitted ? std::optional(station.residual_px) : std::nullopt);
  return row.line();
}

}  // namespace

std::string edge_csv(const EdgeResult& result) {
  std::string text = heading();
  for (const EdgeStation& station : result.stations) text += row_of(station);
  return text;
}

}  // namespace evenbevel
