#include <array>

#include "evenbevel/advice.hpp"
#include "evenbevel/report.hpp"
#include "report/edge_check.hpp"
#include "report/edge_quantities.hpp"
#include "report/edge_words.hpp"
#include "report/json_pieces.hpp"

namespace evenbevel {
namespace {

Json edge_quantities_json(const EdgeResult& result) {
  Json json = quantities_json(measured_of(edge_quantities(), result));
  constexpr const char* kWorst = "centreline_offset_worst";
  if (json.contains(kWorst)) json[kWorst]["x"] = json_mm(result.worst_x_mm);
  return json;
}

Json station_json(const EdgeStation& station) {
  Json json = {{"x", json_mm(station.x_mm)}};
  if (anything_seen(station)) put(json, "px", std::optional(station.px));
  for (const Quantity& quantity : measured_of(station_quantities(), station)) {
    json[quantity.what.name] = measured_json(quantity);
  }
  if (measured(station.centreline_offset_mm)) {
    put(json, "residual_px", station.residual_px, 3);
    Json budget = Json::array();
    for (const BudgetLine& line : station.budget) {
      budget.push_back({{"source", line.cause}, {"u", json_mm(line.u)}});
    }
    if (!budget.empty()) json["budget"] = budget;
  }
  return json;
}

Json edge_card_json(const EdgeResult& result, const EdgeSettings& with) {
  if (!result.pose) return {{"kind", "none"}, {"quick_look", true}, {"ruler", "thickness"}};
  return card_json(CardKind::edge, *result.pose, result.corners_found, with.print);
}

Json settings_json(const EdgeSettings& with, const ReportSettings& settings) {
  Json json = {{"thickness", json_mm(with.thickness_mm)},
               {"thickness_u", json_mm(with.thickness_u_mm)}};
  put(json, "edge_height", with.edge_height_mm);
  if (with.stage) json["stage"] = name(*with.stage);
  if (with.tip) json["tip"] = *with.tip == Tip::left ? "left" : "right";
  json["step"] = json_mm(with.step_mm);
  json["facet_angle"] = rounded(degrees(with.facet_angle_rad), 4);
  json["jaw_squareness_u"] = rounded(degrees(with.jaw_squareness_u_rad), 4);
  put_display(json, settings);
  return json;
}

Json photo_quality_json(const EdgeResult& result) {
  Json json = {{"coverage", rounded(result.coverage, 4)}};
  put(json, "scale_px_per_mm", result.scale_px_per_mm, 4);
  put(json, "blur_px", result.blur_px, 3);
  put(json, "camera_distance", result.camera_distance_mm, 2);
  if (result.pose) {
    put(json, "edge_height", result.edge_height_mm, 3);
    put(json, "camera_lateral", result.camera_lateral_mm, 2);
  }
  Json traces = Json::object();
  for (const EdgeTrace& trace : result.traces) {
    traces[std::string(name(trace.kind))] = {{"points", trace.points_px.size()},
                                             {"coverage", rounded(trace.coverage, 4)}};
  }
  json["traces"] = traces;
  return json;
}

Json photos_json(const EdgeResult& result) {
  Json json = Json::array();
  for (const EdgePhotoPart& part : result.photos) {
    json.push_back({{"photo", part.photo},
                    {"turned", part.turned},
                    {"tip", part.tip == Tip::left ? "left" : "right"},
                    {"camera_lateral", rounded(part.camera_lateral_mm, 2)},
                    {"camera_distance", rounded(part.camera_distance_mm, 2)}});
    if (const auto offset = measured(part.centreline_offset_mm)) {
      json.back()["centreline_offset"] = measured_json(*offset, false);
    }
  }
  return json;
}

Json advice_json(const EdgeResult& result, const ReportSettings& settings) {
  Json json = edge_advice(result, settings.wanted_land_mm, settings.tolerance_mm, settings.unit);
  for (const std::string& advice : photo_advice(result, settings)) json.push_back(advice);
  return json;
}

}  // namespace

std::string edge_json(const EdgeResult& result, const EdgeSettings& measured_with,
                      const Photo& photo, const CameraModel& camera,
                      const ReportSettings& settings) {
  Json json = report_json("edge", settings);
  json["stage"] = name(result.stage);
  json["tip"] = result.tip == Tip::left ? "left" : "right";
  json["x_origin"] = result.x_from_plunge ? "plunge_lines" : "first_station";
  json["verdict"] = name(edge_verdict(result, settings));
  json["quantities"] = edge_quantities_json(result);
  json["stations"] = Json::array();
  for (const EdgeStation& station : result.stations) {
    json["stations"].push_back(station_json(station));
  }
  json["budget"] = budget_json(result.budget, names_of(edge_quantities()));
  if (!result.monte_carlo.empty()) json["monte_carlo"] = checks_json(result);
  json["advice"] = advice_json(result, settings);
  json["warnings"] = all_warnings(result.warnings, std::array{&photo});
  json["photo_quality"] = photo_quality_json(result);
  json["input"] = input_json(photo);
  if (!result.photos.empty()) json["photos"] = photos_json(result);
  json["camera"] = camera_json(camera);
  json["card"] = edge_card_json(result, measured_with);
  json["settings"] = settings_json(measured_with, settings);
  return json_text(json);
}

}  // namespace evenbevel
