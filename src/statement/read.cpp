#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <fstream>
#include <iterator>

#include "evenbevel/error.hpp"
#include "evenbevel/statement.hpp"
#include "statement/declared.hpp"
#include "statement/json.hpp"

namespace evenbevel {
namespace {

/// Far more than any report has: a hostile file must exhaust neither the stack nor the time of what
/// walks through it (a member of Json is found by looking at all before it).
constexpr int kMostNesting = 64;
constexpr int kMostMembers = 4000;

constexpr std::array kTypedParts = {
    "schema",   "program",       "view",       "left_and_right", "units",    "stage",  "tip",
    "x_origin", "verdict",       "quantities", "stations",       "budget",   "advice", "warnings",
    "input",    "photo_quality", "camera",     "card",           "settings", "glance", "declared"};

/// @param what  The file's path, or "this".
Error no_report(const std::string& what, const std::string& why) {
  return {what + " is not a report of evenbevel: " + why,
          "give the report.json that 'evenbevel edge', 'side' or 'choil' wrote with -o"};
}

/// Throws at what no report holds.
class Bounds {
 public:
  explicit Bounds(const std::string& what) : what_(what) {}

  bool operator()(int depth, Json::parse_event_t event, const Json&) {
    if (depth > kMostNesting) throw no_report(what_, "it is nested too deeply");
    const auto level = static_cast<std::size_t>(depth);
    if (event == Json::parse_event_t::object_start) members_[level + 1] = 0;
    if (event == Json::parse_event_t::key && ++members_[level] > kMostMembers) {
      throw no_report(what_, "a part of it has too many members");
    }
    return true;
  }

 private:
  std::string what_;
  std::array<int, kMostNesting + 2> members_ = {};
};

int whole_at(const Json& object, std::string_view key, int otherwise) {
  constexpr double kMost = 1e6;
  const Json& number = member(object, key);
  const bool whole = number.is_number_integer() && std::abs(number.get<double>()) <= kMost;
  return whole ? number.get<int>() : otherwise;
}

bool all_of(const Json& array, bool (Json::*is)() const noexcept) {
  return std::all_of(array.begin(), array.end(), [&](const Json& one) { return (one.*is)(); });
}

Facts facts_of(const Json& json);

std::optional<FactValue> fact_of(const Json& json) {
  if (json.is_boolean()) return json.get<bool>();
  constexpr double kMostWhole = 9e15;  // below 2^53: the same number as a double
  if (json.is_number_integer() && std::abs(json.get<double>()) < kMostWhole) {
    return json.get<std::int64_t>();
  }
  if (json.is_number()) return json.get<double>();
  if (json.is_string()) return json.get<std::string>();
  if (json.is_object()) return facts_of(json);
  if (!json.is_array()) return std::nullopt;
  if (all_of(json, &Json::is_number)) return json.get<std::vector<double>>();
  if (!all_of(json, &Json::is_object)) return std::nullopt;
  std::vector<Facts> list;
  for (const Json& one : json) list.push_back(facts_of(one));
  return list;
}

Facts facts_of(const Json& json) {
  Facts facts;
  if (!json.is_object()) return facts;
  for (const auto& [name, content] : json.items()) {
    if (std::optional<FactValue> fact = fact_of(content)) facts.add(name, std::move(*fact));
  }
  return facts;
}

std::optional<Stated> stated_in(const Json& json) {
  const auto value = number_at(json, "value");
  const auto u = number_at(json, "u");
  const auto U = number_at(json, "U95");
  if (!value || !u || !U || *u < 0.0 || *U < 0.0) return std::nullopt;
  return Stated{*value, *u, *U};
}

Facts without(const Facts& facts, std::span<const std::string_view> names) {
  Facts rest;
  for (const auto& [name, value] : facts) {
    if (std::ranges::find(names, name) == names.end()) rest.add(name, value);
  }
  return rest;
}

/// Quantities among an object's members, the other members as facts.
struct Members {
  std::vector<StatedQuantity> quantities = {};
  Facts facts = {};
};

Members members_of(const Json& json);

std::optional<StatedQuantity> quantity_of(const std::string& id, const Json& json) {
  const std::optional<Stated> value = stated_in(json);
  if (!value) return std::nullopt;
  static constexpr std::array<std::string_view, 4> kValue = {"value", "u", "U95", "note"};
  Members members = members_of(json);
  return StatedQuantity{.id = id,
                        .value = *value,
                        .note = words_at(json, "note"),
                        .more = without(members.facts, kValue),
                        .beside = std::move(members.quantities)};
}

std::optional<StatedQuantity> at_depth(const std::string& id, const Json& json) {
  const auto depth_mm = number_at(json, "depth");
  std::optional<StatedQuantity> quantity = quantity_of(id, json);
  if (!quantity || !depth_mm) return std::nullopt;
  static constexpr std::array<std::string_view, 1> kDepth = {"depth"};
  quantity->depth_mm = depth_mm;
  quantity->more = without(quantity->more, kDepth);
  return quantity;
}

Members members_of(const Json& json) {
  Members members;
  for (const auto& [name, content] : json.items()) {
    if (auto quantity = quantity_of(name, content)) {
      members.quantities.push_back(std::move(*quantity));
    } else if (auto fact = fact_of(content)) {
      members.facts.add(name, std::move(*fact));
    }
  }
  return members;
}

std::vector<StatedQuantity> quantities_of(const Json& json) {
  std::vector<StatedQuantity> all;
  if (!json.is_object()) return all;
  for (const auto& [id, content] : json.items()) {
    if (!content.is_array()) {
      if (auto one = quantity_of(id, content)) all.push_back(std::move(*one));
      continue;
    }
    for (const Json& at : content) {
      if (auto one = at_depth(id, at)) all.push_back(std::move(*one));
    }
  }
  return all;
}

std::optional<Eigen::Vector2d> px_of(const Json& json) {
  if (!json.is_array() || json.size() != 2 || !all_of(json, &Json::is_number)) return std::nullopt;
  return Eigen::Vector2d(json[0].get<double>(), json[1].get<double>());
}

void add_place(const std::string& face, const std::string& what, const Json& json,
               std::vector<PhotoPlace>& places) {
  if (const auto px = px_of(json)) places.push_back({face, what, *px});
}

std::vector<PhotoPlace> places_of(const Json& json) {
  std::vector<PhotoPlace> places;
  add_place("", "", json, places);
  if (!json.is_object()) return places;
  for (const auto& [name, content] : json.items()) {
    add_place("", name, content, places);
    if (!content.is_object()) continue;
    for (const auto& [what, px] : content.items()) add_place(name, what, px, places);
  }
  return places;
}

std::optional<BudgetLine> line_of(const Json& json) {
  const auto u = number_at(json, "u");
  if (!u || *u < 0.0) return std::nullopt;
  BudgetLine line{.cause = text_at(json, "source"), .u = *u};
  if (const auto dof = number_at(json, "dof")) line.dof = *dof;
  return line;
}

/// The first quantity's stands by itself.
void take_budgets(const Json& json, std::vector<StatedQuantity>& quantities) {
  if (quantities.empty()) return;
  for (const Json& one : objects_at(json, "budget")) {
    if (auto line = line_of(one)) quantities.front().budget.push_back(std::move(*line));
  }
  const Json& budgets = member(json, "budgets");
  for (StatedQuantity& quantity : quantities) {
    const Json& lines = member(budgets, quantity.id);
    if (!lines.is_object()) continue;
    for (const auto& [cause, u] : lines.items()) {
      if (u.is_number() && u.get<double>() >= 0.0)
        quantity.budget.push_back({.cause = cause, .u = u.get<double>()});
    }
  }
}

StatedStation station_of(double at_mm, const Json& json) {
  StatedStation station{.at_mm = at_mm,
                        .places = places_of(member(json, "px")),
                        .quantities = quantities_of(json),
                        .residual_px = number_at(json, "residual_px")};
  take_budgets(json, station.quantities);
  return station;
}

void take_stations(const Json& json, Statement& statement) {
  if (!json.is_array()) return;
  if (!json.empty() && !number_at(json.front(), "x")) statement.along = "depth";
  for (const Json& one : json) {
    if (const auto at_mm = number_at(one, statement.along)) {
      statement.stations.push_back(station_of(*at_mm, one));
    }
  }
}

StatedTable table_of(const std::string& name, const Json& json) {
  StatedTable table{.name = name};
  for (const Json& one : json) {
    Members members = members_of(one);
    table.places.push_back({std::move(members.facts), std::move(members.quantities)});
  }
  return table;
}

/// What a view states in its own words.
void take_other_parts(const Json& json, Statement& statement) {
  for (const auto& [name, content] : json.items()) {
    if (std::ranges::find(kTypedParts, std::string_view(name)) != kTypedParts.end()) continue;
    if (content.is_array() && all_of(content, &Json::is_object)) {
      statement.tables.push_back(table_of(name, content));
    } else if (auto fact = fact_of(content)) {
      statement.more.add(name, std::move(*fact));
    }
  }
}

/// The quantity of that name, itself or read beside one at a depth; null: none.
StatedQuantity* budgeted(Statement& statement, const std::string& name) {
  for (StatedQuantity& quantity : statement.quantities) {
    if (budget_name(quantity) == name) return &quantity;
    for (StatedQuantity& beside : quantity.beside) {
      if (budget_name(quantity, beside) == name) return &beside;
    }
  }
  return nullptr;
}

void take_budget(const Json& json, Statement& statement) {
  for (const Json& one : objects_at(json, "budget")) {
    auto line = line_of(one);
    if (!line) continue;
    const std::string name = text_at(one, "quantity");
    if (StatedQuantity* quantity = budgeted(statement, name)) {
      quantity->budget.push_back(std::move(*line));
    } else {
      statement.budget.push_back({name, std::move(*line)});
    }
  }
}

std::optional<RemarkValue> remark_value(const RemarkKind::Value& wanted, const Json& values) {
  if (wanted.number) {
    const auto number = number_at(values, wanted.name);
    return number ? std::optional<RemarkValue>(*number) : std::nullopt;
  }
  const Json& text = member(values, wanted.name);
  return text.is_string() ? std::optional<RemarkValue>(InUnits(text.get<std::string>()))
                          : std::nullopt;
}

/// Empty: a code of another evenbevel, or not with the values it has here.
std::optional<Remark> coded_remark(const Json& json) {
  const std::string id = text_at(json, "code");
  const auto kind = std::ranges::find(words::kKinds, std::string_view(id), &RemarkKind::id);
  if (kind == words::kKinds.end()) return std::nullopt;
  Remark remark{.code = kind->code};
  for (std::size_t i = 0; i < kind->count(); ++i) {
    const RemarkKind::Value& wanted = kind->values[i];
    auto value =
        remark_value(wanted, wanted.name == kWholeSentence ? json : member(json, "values"));
    if (!value && wanted.needed) return std::nullopt;
    if (value) remark.values.push_back({std::string(wanted.name), std::move(*value)});
  }
  return remark;
}

/// A sentence of schema 1, or an object of schema 2; what is not known keeps its text.
std::optional<Remark> remark_of(const Json& json) {
  if (auto coded = coded_remark(json)) return coded;
  const std::string text = json.is_string() ? json.get<std::string>() : text_at(json, "text");
  if (text.empty()) return std::nullopt;
  return remark<RemarkCode::as_written>(text);
}

std::vector<Remark> remarks_of(const Json& json) {
  std::vector<Remark> all;
  for (const Json& one : json.is_array() ? json : Json::array()) {
    if (auto remark = remark_of(one)) all.push_back(std::move(*remark));
  }
  return all;
}

void add_photo(const std::string& face, const Json& json, std::vector<StatedPhoto>& photos) {
  const std::string name = text_at(json, "photo");
  if (name.empty()) return;
  photos.push_back({.face = face,
                    .name = name,
                    .sha256 = text_at(json, "sha256"),
                    .width_px = whole_at(json, "width_px", 0),
                    .height_px = whole_at(json, "height_px", 0),
                    .exif_orientation = whole_at(json, "exif_orientation", 1),
                    .exif_camera = facts_of(member(json, "exif_camera"))});
}

std::vector<StatedPhoto> photos_of(const Json& input) {
  std::vector<StatedPhoto> photos;
  if (!input.is_object()) return photos;
  add_photo("", input, photos);
  for (const auto& [face, content] : input.items()) add_photo(face, content, photos);
  return photos;
}

Provenance provenance_of(const Json& json) {
  const Json& program = member(json, "program");
  return {.version = text_at(program, "version"),
          .command_line = text_at(program, "command_line"),
          .photos = photos_of(member(json, "input")),
          .photo_quality = facts_of(member(json, "photo_quality")),
          .camera = facts_of(member(json, "camera")),
          .card = facts_of(member(json, "card")),
          .settings = facts_of(member(json, "settings"))};
}

Statement statement_of(const Json& json) {
  Statement statement{.view = text_at(json, "view"),
                      .stage = text_at(json, "stage"),
                      .tip = text_at(json, "tip"),
                      .x_origin = text_at(json, "x_origin"),
                      .verdict = text_at(json, "verdict"),
                      .quantities = quantities_of(member(json, "quantities"))};
  take_stations(member(json, "stations"), statement);
  take_other_parts(json, statement);
  take_budget(json, statement);
  statement.advice = remarks_of(member(json, "advice"));
  statement.warnings = remarks_of(member(json, "warnings"));
  statement.provenance = provenance_of(json);
  statement.glance = glance_of(member(json, "glance"));
  take_declared(member(json, "declared"), statement);
  return statement;
}

void check_schema(const Json& json, const std::string& what) {
  const std::string schema = text_at(json, "schema");
  if (schema == kReportSchema || schema == kOldReportSchema) return;
  if (schema.starts_with("evenbevel.report/")) {
    throw Error(what + " is a report of a newer evenbevel, schema " + schema,
                "use that evenbevel, or measure the photo again with this one");
  }
  throw no_report(what, std::string("its schema is not ") + kReportSchema);
}

Statement read(std::string_view text, const std::string& what) {
  const Json json = Json::parse(text, Bounds(what), false);
  if (!json.is_object()) throw no_report(what, "it is not JSON, or was cut short");
  check_schema(json, what);
  Statement statement = statement_of(json);
  if (statement.view.empty()) throw no_report(what, "it does not say its view");
  return statement;
}

}  // namespace

Statement read_statement(std::string_view json) { return read(json, "this"); }

Statement read_statement_file(const std::filesystem::path& path) {
  if (std::filesystem::is_directory(path)) throw no_report(path.string(), "it is a folder");
  std::ifstream file(path, std::ios::binary);
  if (!file) throw no_report(path.string(), "it cannot be opened");
  const std::string text{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
  return read(text, path.string());
}

}  // namespace evenbevel
