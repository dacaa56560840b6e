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

std::string side_places_csv(const SideResult& result) {
  if (result.bevel_at.empty()) return "";
  CsvRow heading;
  heading.text("from").text("distance_mm").text("x_mm");
  for (const char* quantity : {"bevel_height_left", "bevel_height_right"})
    add_columns(heading, quantity, QuantityKind::length);
  add_columns(heading, "bevel_height_difference", QuantityKind::signed_length);
  std::string text = heading.line();
  for (const BevelAtPlace& at : result.bevel_at) {
    CsvRow row;
    row.text(at.asked.from_tip ? "tip" : "plunge_line");
    row.length_mm(at.asked.distance_mm).length_mm(at.x_mm);
    row.measured_value(at.left_mm, QuantityKind::length);
    row.measured_value(at.right_mm, QuantityKind::length);
    row.measured_value(at.difference_mm, QuantityKind::signed_length);
    text += row.line();
  }
  return text;
}

}  // namespace evenbevel
