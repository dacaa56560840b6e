#include "record/report_facts.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include <nlohmann/json.hpp>

#include "evenbevel/error.hpp"
#include "report/choil_quantities.hpp"
#include "report/edge_quantities.hpp"
#include "report/side_quantities.hpp"

namespace evenbevel {
namespace {

using Json = nlohmann::json;

std::string text_at(const Json& object, const char* key) {
  const auto found = object.find(key);
  return found != object.end() && found->is_string() ? found->get<std::string>() : std::string();
}

std::optional<double> number_at(const Json& object, const char* key) {
  const auto found = object.find(key);
  if (found == object.end() || !found->is_number()) return std::nullopt;
  const double number = found->get<double>();
  return std::isfinite(number) ? std::optional(number) : std::nullopt;
}

/// @param at  The depth, where a quantity is stated at several.
void take_value(const std::string& name, const Json& object, double at,
                std::vector<RecordedValue>& values) {
  if (!object.is_object()) return;
  const auto value = number_at(object, "value");
  const auto u = number_at(object, "u");
  const auto U = number_at(object, "U95");
  if (!value || !u || !U || *u < 0.0 || *U < 0.0) return;
  values.push_back({name, at, *value, *u, *U});
}

std::vector<RecordedValue> values_of(const Json& quantities) {
  std::vector<RecordedValue> values;
  for (const auto& [name, content] : quantities.items()) {
    if (!content.is_array()) take_value(name, content, 0.0, values);
    for (const Json& one : content.is_array() ? content : Json::array()) {
      if (one.is_object()) take_value(name, one, number_at(one, "depth").value_or(0.0), values);
    }
  }
  // Two depths that a report states alike would not both fit: the first stands.
  std::ranges::stable_sort(values, {},
                           [](const RecordedValue& v) { return std::pair(v.name, v.at); });
  const auto same = [](const RecordedValue& a, const RecordedValue& b) {
    return a.name == b.name && a.at == b.at;
  };
  values.erase(std::unique(values.begin(), values.end(), same), values.end());
  return values;
}

/// Every object below "input" that names a photo: one view has one, another one a face.
void take_photos(const Json& json, const std::string& key, std::vector<NamedPhoto>& photos) {
  if (json.is_object()) {
    if (const std::string name = text_at(json, "photo"); !name.empty()) {
      std::string face = text_at(json, "face");
      if (face.empty() && (key == "left" || key == "right")) face = key;
      photos.push_back({name, text_at(json, "sha256"), face});
    }
    for (const auto& [inner, content] : json.items()) take_photos(content, inner, photos);
  } else if (json.is_array()) {
    for (const Json& content : json) take_photos(content, key, photos);
  }
}

constexpr int kMostNesting = 64;

/// A hostile file must not exhaust the stack of what walks through it.
Json parsed(const std::string& text) {
  const auto shallow = [](int depth, Json::parse_event_t, Json&) {
    if (depth > kMostNesting) {
      throw Error("the report is nested too deeply", "give a report.json that evenbevel wrote");
    }
    return true;
  };
  return Json::parse(text, shallow, false);
}

/// Of all views, in the order of their reports.
std::vector<QuantityName> all_names() {
  std::vector<QuantityName> names = names_of(edge_quantities());
  const std::vector<QuantityName> side = names_of(side_quantities());
  names.insert(names.end(), side.begin(), side.end());
  const auto choil = choil_quantity_names();
  names.insert(names.end(), choil.begin(), choil.end());
  return names;
}

const std::vector<QuantityName>& known_names() {
  static const std::vector<QuantityName> names = all_names();
  return names;
}

}  // namespace

ReportFacts report_facts(const std::string& text) {
  const Json json = parsed(text);
  if (json.is_discarded() || !json.is_object() || text_at(json, "schema") != "evenbevel.report/1") {
    throw Error("this is not a report of evenbevel (schema evenbevel.report/1)",
                "give the folder that 'evenbevel edge', 'side' or 'choil' wrote with -o, or its "
                "report.json");
  }
  ReportFacts facts;
  facts.view = text_at(json, "view");
  facts.verdict = text_at(json, "verdict");
  if (const auto quantities = json.find("quantities"); quantities != json.end()) {
    if (quantities->is_object()) facts.values = values_of(*quantities);
  }
  if (const auto input = json.find("input"); input != json.end()) {
    take_photos(*input, "", facts.photos);
  }
  if (facts.view.empty() || facts.photos.empty()) {
    throw Error("the report does not say its view or its photo",
                "measure the photo again, then add the new report");
  }
  return facts;
}

bool is_angle_name(const std::string& name) {
  const QuantityName* known = find_name(known_names(), name);
  return known != nullptr ? known->kind == QuantityKind::angle
                          : name.find("angle") != std::string::npos;
}

bool is_signed_name(const std::string& name) {
  const QuantityName* known = find_name(known_names(), name);
  if (known != nullptr) return known->kind == QuantityKind::signed_length;
  constexpr std::array kSigned{"offset", "difference", "mismatch", "asymmetry"};
  return std::ranges::any_of(
      kSigned, [&](const char* part) { return name.find(part) != std::string::npos; });
}

std::string label_of(const RecordedValue& value, LengthUnit unit) {
  const QuantityName* known = find_name(known_names(), value.name);
  std::string label = known != nullptr ? known->label : value.name;
  std::ranges::replace(label, '_', ' ');
  if (value.name == "thickness_at") {
    label = "thickness " + trimmed_length(value.at, unit) + " behind the edge";
  }
  return label;
}

std::size_t place_in_report(const std::string& name) {
  const std::vector<QuantityName>& names = known_names();
  const auto found =
      std::ranges::find_if(names, [&](const QuantityName& known) { return name == known.name; });
  return static_cast<std::size_t>(found - names.begin());
}

}  // namespace evenbevel
