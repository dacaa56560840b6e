#include <array>
#include <cmath>

#include "evenbevel/statement.hpp"
#include "statement/declared.hpp"
#include "statement/json.hpp"

namespace evenbevel {
namespace {

/// As a person reads the file, from the result to where it came from; other parts come last.
constexpr std::array kOrder = {
    "stage",  "tip",         "x_origin", "verdict",  "glance",   "quantities",    "bevel_height_at",
    "shape",  "range",       "axis",     "stations", "plunges",  "plunge_height", "outlines",
    "budget", "monte_carlo", "advice",   "zones",    "warnings", "declared",      "photo_quality",
    "input",  "photos",      "camera",   "card",     "settings"};

Json head_json(const Statement& statement) {
  const Provenance& from = statement.provenance;
  Json json = {{"schema", kReportSchema},
               {"program", {{"name", "evenbevel"}, {"version", from.version}}}};
  put(json["program"], "command_line", from.command_line);
  json["view"] = statement.view;
  json["left_and_right"] = left_and_right();
  json["units"] = {{"length", "mm"}, {"angle", "deg"}, {"pixel", "px"}};
  return json;
}

Json px_json(const Eigen::Vector2d& px) { return {json_px(px.x()), json_px(px.y())}; }

Json quantity_json(const StatedQuantity& quantity) {
  Json json = Json::object();
  if (quantity.depth_mm) json["depth"] = json_mm(*quantity.depth_mm);
  json["value"] = json_mm(quantity.value.value);
  json["u"] = json_mm(quantity.value.u);
  json["U95"] = json_mm(quantity.value.U95);
  json.update(json_of(quantity.more));
  put(json, "note", quantity.note);
  for (const StatedQuantity& other : quantity.beside) json[other.id] = quantity_json(other);
  return json;
}

void put_quantities(Json& json, const std::vector<StatedQuantity>& quantities) {
  for (const StatedQuantity& quantity : quantities) {
    Json one = quantity_json(quantity);
    if (quantity.depth_mm) {
      json[quantity.id].push_back(std::move(one));
    } else {
      json[quantity.id] = std::move(one);
    }
  }
}

Json places_json(const std::vector<PhotoPlace>& places) {
  Json json = Json::object();
  for (const PhotoPlace& place : places) {
    if (place.face.empty() && place.what.empty()) return px_json(place.px);
    Json& of_face = place.face.empty() ? json : json[place.face];
    of_face[place.what] = px_json(place.px);
  }
  return json;
}

Json line_json(const BudgetLine& line) { return {{"source", line.cause}, {"u", json_mm(line.u)}}; }

/// The first quantity's line by line, the others' below their names, one number a cause: they are
/// many.
void put_budgets(Json& json, const std::vector<StatedQuantity>& quantities) {
  for (const StatedQuantity& quantity : quantities) {
    const bool first = &quantity == &quantities.front();
    for (const BudgetLine& line : quantity.budget) {
      if (first) {
        json["budget"].push_back(line_json(line));
      } else if (const double u = json_mm(line.u); u > 0.0) {
        json["budgets"][quantity.id][line.cause] = u;
      }
    }
  }
}

Json station_json(const StatedStation& station, const std::string& along) {
  Json json = {{along, json_mm(station.at_mm)}};
  if (!station.places.empty()) json["px"] = places_json(station.places);
  put_quantities(json, station.quantities);
  if (station.residual_px) json["residual_px"] = json_px(*station.residual_px);
  put_budgets(json, station.quantities);
  return json;
}

Json stations_json(const Statement& statement) {
  Json json = Json::array();
  for (const StatedStation& station : statement.stations) {
    json.push_back(station_json(station, statement.along));
  }
  return json;
}

Json table_json(const StatedTable& table) {
  Json json = Json::array();
  for (const StatedPlace& place : table.places) {
    Json one = json_of(place.at);
    put_quantities(one, place.quantities);
    json.push_back(std::move(one));
  }
  return json;
}

Json budget_json(const std::vector<QuantityBudgetLine>& budget) {
  Json json = Json::array();
  for (const auto& [quantity, line] : budget) {
    Json one = {{"quantity", quantity}};
    one.update(line_json(line));
    if (std::isfinite(line.dof)) one["dof"] = rounded(line.dof, 1);
    json.push_back(std::move(one));
  }
  return json;
}

Json photo_json(const StatedPhoto& photo) {
  Json json = {{"photo", photo.name},
               {"width_px", photo.width_px},
               {"height_px", photo.height_px},
               {"exif_orientation", photo.exif_orientation}};
  put(json, "sha256", photo.sha256);
  if (!photo.exif_camera.empty()) json["exif_camera"] = json_of(photo.exif_camera);
  return json;
}

Json input_json(const std::vector<StatedPhoto>& photos) {
  Json json = Json::object();
  for (const StatedPhoto& photo : photos) {
    if (photo.face.empty()) return photo_json(photo);
    json[photo.face] = photo_json(photo);
  }
  return json;
}

/// Its sentence in mm beside code and values, for those who know no codes.
Json remark_json(const Remark& remark) {
  Json values = Json::object();
  for (const auto& [name, value] : remark.values) {
    if (name == kWholeSentence) continue;
    if (const auto* text = std::get_if<InUnits>(&value)) {
      values[name] = text->mm;
    } else {
      values[name] = std::get<double>(value);
    }
  }
  return {{"code", kind_of(remark.code).id},
          {"values", values},
          {"text", sentence(remark, LengthUnit::mm)}};
}

Json remarks_json(const std::vector<Remark>& remarks) {
  Json json = Json::array();
  for (const Remark& remark : remarks) json.push_back(remark_json(remark));
  return json;
}

void put_part(Json& parts, const char* key, Json part) {
  if (!part.empty()) parts[key] = std::move(part);
}

/// All but the head, each by its key.
Json parts_json(const Statement& statement) {
  const Provenance& from = statement.provenance;
  Json parts = json_of(statement.more);
  put(parts, "stage", statement.stage);
  put(parts, "tip", statement.tip);
  put(parts, "x_origin", statement.x_origin);
  put(parts, "verdict", statement.verdict);
  put_part(parts, "glance", glance_json(statement.glance));
  put_part(parts, "declared", declared_json(statement));
  parts["quantities"] = Json::object();
  put_quantities(parts["quantities"], statement.quantities);
  parts["stations"] = stations_json(statement);
  for (const StatedTable& table : statement.tables) parts[table.name] = table_json(table);
  parts["budget"] = budget_json(whole_budget(statement));
  parts["advice"] = remarks_json(statement.advice);
  parts["warnings"] = remarks_json(statement.warnings);
  parts["photo_quality"] = json_of(from.photo_quality);
  parts["input"] = input_json(from.photos);
  parts["camera"] = json_of(from.camera);
  parts["card"] = json_of(from.card);
  parts["settings"] = json_of(from.settings);
  return parts;
}

}  // namespace

std::string statement_json(const Statement& statement) {
  Json json = head_json(statement);
  Json parts = parts_json(statement);
  for (const char* key : kOrder) {
    const auto part = parts.find(key);
    if (part == parts.end()) continue;
    json[key] = std::move(*part);
    parts.erase(part);
  }
  json.update(parts);
  return json_text(json);
}

}  // namespace evenbevel
