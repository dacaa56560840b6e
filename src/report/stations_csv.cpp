#include <algorithm>
#include <array>

#include "evenbevel/report.hpp"
#include "report/csv_pieces.hpp"

namespace evenbevel {
namespace {

using ColumnKind = StationColumn::Kind;

/// "edge_px_left" of the left face's edge, "left_px" of a section's left border, "px".
std::string place_name(const StationColumn& column) {
  return (column.what.empty() ? "" : column.what + "_") + "px" +
         (column.face.empty() ? "" : "_" + column.face);
}

void add_heading(CsvRow& row, const StationColumn& column) {
  switch (column.kind) {
    case ColumnKind::place:
      row.text(place_name(column) + "_x").text(place_name(column) + "_y");
      break;
    case ColumnKind::quantity:
      add_columns(row, column.what, column.number);
      break;
    case ColumnKind::residual:
      row.text("residual_px");
      break;
  }
}

void add_field(CsvRow& row, const StationColumn& column, const StatedStation& station) {
  switch (column.kind) {
    case ColumnKind::place:
      row.px(station.px(column.face, column.what));
      break;
    case ColumnKind::quantity:
      row.stated(find(station.quantities, column.what));
      break;
    case ColumnKind::residual:
      row.px(station.residual_px);
      break;
  }
}

}  // namespace

std::string stations_csv(const Statement& statement) {
  CsvRow heading;
  heading.text(statement.along + "_mm");
  for (const StationColumn& column : statement.columns) add_heading(heading, column);
  std::string text = heading.line();
  for (const StatedStation& station : statement.stations) {
    CsvRow row;
    row.length_mm(station.at_mm);
    for (const StationColumn& column : statement.columns) add_field(row, column, station);
    text += row.line();
  }
  return text;
}

std::string places_csv(const Statement& statement) {
  static constexpr std::array kQuantities = {"bevel_height_left", "bevel_height_right",
                                             "bevel_height_difference"};
  const auto table = std::ranges::find(statement.tables, "bevel_height_at", &StatedTable::name);
  if (table == statement.tables.end()) return "";
  CsvRow heading;
  heading.text("from").text("distance_mm").text("x_mm");
  for (const char* quantity : kQuantities) add_columns(heading, quantity, QuantityKind::length);
  std::string text = heading.line();
  for (const StatedPlace& place : table->places) {
    CsvRow row;
    row.text(place.at.text("from"));
    row.number(place.at.number("distance"), 3).number(place.at.number("x"), 3);
    for (const char* quantity : kQuantities) row.stated(find(place.quantities, quantity));
    text += row.line();
  }
  return text;
}

}  // namespace evenbevel
