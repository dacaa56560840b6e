#include "evenbevel/choil_report.hpp"
#include "report/choil_quantities.hpp"
#include "report/csv_pieces.hpp"

namespace evenbevel {
namespace {

std::string heading() {
  CsvRow row;
  row.text("depth_mm").text("left_px_x").text("left_px_y").text("right_px_x").text("right_px_y");
  for (const auto& quantity : depth_quantities()) add_columns(row, quantity.name, quantity.kind);
  return row.line();
}

std::string row_of(const ChoilDepth& depth) {
  CsvRow row;
  row.length_mm(depth.depth_mm).px(depth.left_px).px(depth.right_px);
  for (const auto& quantity : depth_quantities()) {
    row.measured_value(depth.*quantity.member, quantity.kind);
  }
  return row.line();
}

}  // namespace

std::string choil_csv(const ChoilResult& result) {
  std::string text = heading();
  for (const ChoilDepth& depth : choil_stations(result)) text += row_of(depth);
  return text;
}

}  // namespace evenbevel
