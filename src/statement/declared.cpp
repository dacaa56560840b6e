#include "statement/declared.hpp"

#include <algorithm>

namespace evenbevel {
namespace {

using ColumnKind = StationColumn::Kind;

/// A signed length says its plus.
void put_kind(Json& json, QuantityKind kind) {
  json["unit"] = kind == QuantityKind::angle             ? "deg"
                 : kind == QuantityKind::per_area        ? "1/cm2"
                 : kind == QuantityKind::length_per_area ? "mm/cm2"
                                                         : "mm";
  if (kind == QuantityKind::signed_length) json["signed"] = true;
}

QuantityKind kind_in(const Json& json) {
  const std::string unit = text_at(json, "unit");
  if (unit == "deg") return QuantityKind::angle;
  if (unit == "1/cm2") return QuantityKind::per_area;
  if (unit == "mm/cm2") return QuantityKind::length_per_area;
  return flag_at(json, "signed") ? QuantityKind::signed_length : QuantityKind::length;
}

Json declared_quantity_json(const DeclaredQuantity& declared) {
  Json json = {{"quantity", declared.id}, {"label", json_of(declared.label)}};
  put_kind(json, declared.kind);
  return json;
}

DeclaredQuantity declared_quantity_of(const Json& json) {
  return {.id = text_at(json, "quantity"), .label = words_at(json, "label"), .kind = kind_in(json)};
}

Json column_json(const StationColumn& column) {
  if (column.kind == ColumnKind::residual) return {{"residual", "residual_px"}};
  if (column.kind == ColumnKind::place) {
    Json json = {{"place", column.what}};
    put(json, "face", column.face);
    return json;
  }
  Json json = {{"quantity", column.what}, {"label", column.label}};
  put_kind(json, column.number);
  return json;
}

StationColumn column_of(const Json& json) {
  if (json.contains("residual")) return {.kind = ColumnKind::residual};
  if (json.contains("place")) {
    return {
        .kind = ColumnKind::place, .what = text_at(json, "place"), .face = text_at(json, "face")};
  }
  return {
      .what = text_at(json, "quantity"), .label = text_at(json, "label"), .number = kind_in(json)};
}

Json chart_json(const StatedChart& chart) {
  Json json = {{"title", chart.title}, {"name", chart.name}, {"y_name", chart.y_name}};
  for (const auto& [quantity, label] : chart.curves) {
    json["curves"].push_back({{"quantity", quantity}, {"label", label}});
  }
  put(json, "zero", chart.zero);
  if (chart.plus_down) json["plus_down"] = true;
  if (chart.judged) json["judged"] = true;
  put(json, "worst_at", chart.worst_at_mm);
  return json;
}

StatedChart chart_of(const Json& json) {
  StatedChart chart{.title = text_at(json, "title"),
                    .name = text_at(json, "name"),
                    .y_name = text_at(json, "y_name"),
                    .zero = text_at(json, "zero"),
                    .plus_down = flag_at(json, "plus_down"),
                    .judged = flag_at(json, "judged"),
                    .worst_at_mm = number_at(json, "worst_at")};
  for (const Json& curve : objects_at(json, "curves")) {
    chart.curves.push_back({text_at(curve, "quantity"), text_at(curve, "label")});
  }
  return chart;
}

Json table_columns_json(const StatedTable& table) {
  Json json = {{"table", table.name}, {"title", table.title}, {"columns", Json::array()}};
  for (const auto& [what, label, number] : table.columns) {
    Json column = {{"what", what}, {"label", label}};
    put_kind(column, number);
    json["columns"].push_back(std::move(column));
  }
  return json;
}

void take_table_columns(const Json& json, std::vector<StatedTable>& tables) {
  const auto table = std::ranges::find(tables, text_at(json, "table"), &StatedTable::name);
  if (table == tables.end()) return;
  table->title = text_at(json, "title");
  for (const Json& column : objects_at(json, "columns")) {
    table->columns.push_back({text_at(column, "what"), text_at(column, "label"), kind_in(column)});
  }
}

}  // namespace

Json glance_json(const Glance& glance) {
  Json json = Json::object();
  put(json, "headline", glance.headline);
  put(json, "title", glance.title);
  put(json, "verdict", glance.verdict);
  put(json, "origin", glance.origin);
  put(json, "check", glance.check);
  if (!glance.how_to_read.empty()) json["how_to_read"] = glance.how_to_read;
  return json;
}

Glance glance_of(const Json& json) {
  Glance glance{.headline = words_at(json, "headline"),
                .title = words_at(json, "title"),
                .check = words_at(json, "check"),
                .verdict = words_at(json, "verdict"),
                .origin = words_at(json, "origin")};
  const Json& how = member(json, "how_to_read");
  if (!how.is_array()) return glance;
  for (const Json& sentence : how) {
    if (sentence.is_string()) glance.how_to_read.push_back(sentence.get<std::string>());
  }
  return glance;
}

Json declared_json(const Statement& statement) {
  Json json = Json::object();
  for (const DeclaredQuantity& one : statement.declared) {
    json["quantities"].push_back(declared_quantity_json(one));
  }
  for (const StationColumn& one : statement.columns) json["columns"].push_back(column_json(one));
  for (const StatedChart& one : statement.charts) json["charts"].push_back(chart_json(one));
  for (const StatedTable& table : statement.tables) {
    if (!table.title.empty()) json["tables"].push_back(table_columns_json(table));
  }
  return json;
}

void take_declared(const Json& json, Statement& statement) {
  for (const Json& one : objects_at(json, "quantities")) {
    statement.declared.push_back(declared_quantity_of(one));
  }
  for (const Json& one : objects_at(json, "columns")) statement.columns.push_back(column_of(one));
  for (const Json& one : objects_at(json, "charts")) statement.charts.push_back(chart_of(one));
  for (const Json& one : objects_at(json, "tables")) take_table_columns(one, statement.tables);
}

}  // namespace evenbevel
