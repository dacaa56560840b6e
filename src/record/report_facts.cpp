#include "record/report_facts.hpp"

#include <algorithm>
#include <array>
#include <optional>

#include "evenbevel/error.hpp"
#include "report/choil_quantities.hpp"
#include "report/edge_quantities.hpp"
#include "report/finish_quantities.hpp"
#include "report/side_quantities.hpp"

namespace evenbevel {
namespace {

/// Of all views, in the order of their reports.
std::vector<QuantityName> all_names() {
  std::vector<QuantityName> names = names_of(edge_quantities());
  const std::vector<QuantityName> side = names_of(side_quantities());
  names.insert(names.end(), side.begin(), side.end());
  const auto choil = choil_quantity_names();
  names.insert(names.end(), choil.begin(), choil.end());
  names.insert(names.end(), kFinishQuantities.begin(), kFinishQuantities.end());
  return names;
}

const std::vector<QuantityName>& known_names() {
  static const std::vector<QuantityName> names = all_names();
  return names;
}

}  // namespace

bool is_place_name(const std::string& quantity_name) {
  return quantity_name == "plunge_left" || quantity_name == "plunge_right";
}

std::string origin_words(const RecordEntry& entry) {
  if (entry.x_origin == "plunge_lines") {
    const auto seen = [&](const char* name) { return find_value(entry, name) != nullptr; };
    return seen("plunge_left") && seen("plunge_right") ? "x = 0 midway between the plunge lines"
                                                       : "x = 0 at the plunge line";
  }
  if (entry.x_origin == "first_station") return "x = 0 at the first station";
  if (entry.x_origin == "handle_end") return "x = 0 at the handle end of the blade";
  return "x = 0 as its report says";
}

bool same_origin(const RecordEntry& a, const RecordEntry& b) {
  return a.x_origin == "plunge_lines" && origin_words(a) == origin_words(b);
}

std::vector<RecordedValue> recorded_values(const Statement& report) {
  std::vector<RecordedValue> values;
  for (const StatedQuantity& stated : report.quantities) {
    const auto& [value, u, U95] = stated.value;
    values.push_back({stated.id, stated.depth_mm.value_or(0.0), value, u, U95});
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

ReportFacts report_facts(const std::string& json) {
  const Statement report = read_statement(json);
  if (report.provenance.photos.empty()) {
    throw Error("the report does not name its photo",
                "measure the photo again, then add the new report");
  }
  return {.view = report.view,
          .verdict = report.verdict,
          .values = recorded_values(report),
          .photos = report.provenance.photos};
}

std::optional<QuantityKind> over_area_kind(const std::string& name) {
  const std::string of = name.substr(0, name.rfind("_difference"));
  const QuantityName* known = find_name(known_names(), of);
  if (known == nullptr) return std::nullopt;
  const bool over_area =
      known->kind == QuantityKind::per_area || known->kind == QuantityKind::length_per_area;
  return over_area ? std::optional(known->kind) : std::nullopt;
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
