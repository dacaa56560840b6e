#include "evenbevel/side_report.hpp"
#include "report/csv_pieces.hpp"
#include "report/side_quantities.hpp"

namespace evenbevel {
namespace {

std::string heading() {
  CsvRow row;
  row.text("x_mm");
  for (const Face face : kFaces) {
    for (const char* place : {"edge", "bevel", "spine"}) {
      const std::string column = name_on((std::string(place) + "_px").c_str(), face);
      row.text(column + "_x").text(column + "_y");
    }
    for (const auto& quantity : face_quantities()) {
      add_columns(row, name_on(quantity.name, face), quantity.kind);
    }
  }
  for (const auto& quantity : side_station_quantities()) {
    add_columns(row, quantity.name, quantity.kind);
  }
  return row.line();
}

std::string row_of(const SideStation& station) {
  CsvRow row;
  row.length_mm(station.x_mm);
  for (const Face face : kFaces) {
    const FaceStation& on = station_on(station, face);
    row.px(on.edge_px).px(on.bevel_px).px(on.spine_px);
    for (const auto& quantity : face_quantities()) {
      row.measured_value(on.*quantity.member, quantity.kind);
    }
  }
  for (const auto& quantity : side_station_quantities()) {
    row.measured_value(station.*quantity.member, quantity.kind);
  }
  return row.line();
}

}  // namespace

std::string side_csv(const SideResult& result) {
  std::string text = heading();
  for (const SideStation& station : result.stations) text += row_of(station);
  return text;
}

}  // namespace evenbevel
