#include <array>

#include "evenbevel/advice.hpp"
#include "evenbevel/choil_report.hpp"
#include "report/choil_quantities.hpp"
#include "report/json_pieces.hpp"

namespace evenbevel {
namespace {

Json places_json(const ChoilDepth& depth) {
  Json json = Json::object();
  put(json, "left", depth.left_px);
  put(json, "right", depth.right_px);
  return json;
}

Json depth_json(const ChoilDepth& depth) {
  Json json = {{"depth", json_mm(depth.depth_mm)}};
  const Json places = places_json(depth);
  if (!places.empty()) json["px"] = places;
  for (const Quantity& quantity : measured_of(depth_quantities(), depth)) {
    json[quantity.what.name] = measured_json(quantity);
  }
  return json;
}

/// One entry a depth asked for where the section was seen: the thickness itself, then the rest.
Json thickness_at_json(const ChoilResult& result) {
  Json list = Json::array();
  for (const ChoilDepth& depth : result.depths) {
    if (!measured(depth.thickness_mm)) continue;
    Json json = {{"depth", json_mm(depth.depth_mm)}};
    json.update(measured_json(*depth.thickness_mm, false));
    put(json, "half_left", depth.half_left_mm, false);
    put(json, "half_right", depth.half_right_mm, false);
    put(json, "asymmetry", depth.asymmetry_mm, false);
    list.push_back(json);
  }
  return list;
}

void put_wheel(Json& quantities, const char* name, const SectionSide& side) {
  if (!quantities.contains(name)) return;
  put(quantities[name], "low", side.hollow_radius_low_mm, 3);
  put(quantities[name], "high", side.hollow_radius_high_mm, 3);
}

Json choil_quantities_json(const ChoilResult& result) {
  Json json = quantities_json(choil_quantities(result));
  const Json thicknesses = thickness_at_json(result);
  if (!thicknesses.empty()) json["thickness_at"] = thicknesses;
  put_wheel(json, "hollow_radius_left", result.left);
  put_wheel(json, "hollow_radius_right", result.right);
  if (json.contains("asymmetry")) json["asymmetry"]["depth"] = json_mm(result.asymmetry_depth_mm);
  if (json.contains("edge_thickness")) {
    json["edge_thickness"]["depth"] = json_mm(result.edge_depth_mm);
  }
  return json;
}

Json axis_json(const ChoilResult& result) {
  Json json = {{"from", name(result.axis_from)},
               {"lean", measured_json(result.axis_lean_rad, true)},
               {"edge_px", {json_px(result.edge_px.x()), json_px(result.edge_px.y())}}};
  if (result.flats_to_mm > 0.0) {
    json["flats_from"] = json_mm(result.flats_from_mm);
    json["flats_to"] = json_mm(result.flats_to_mm);
  }
  return json;
}

Json photo_quality_json(const ChoilResult& result) {
  Json json = Json::object();
  put(json, "scale_px_per_mm", result.scale_px_per_mm, 4);
  put(json, "blur_px", result.blur_px, 3);
  put(json, "camera_distance", result.camera_distance_mm, 2);
  put(json, "clipped_share", result.clipped_share, 4);
  return json;
}

Json settings_json(const ChoilSettings& with, const ReportSettings& settings) {
  Json json = Json::object();
  json["at"] = Json::array();
  for (const double depth_mm : with.at_mm) json["at"].push_back(json_mm(depth_mm));
  json["angle_from"] = json_mm(with.angle_from_mm);
  put(json, "angle_to", with.angle_to_mm);
  put(json, "thickness", with.thickness_mm);
  put_display(json, settings);
  return json;
}

Json advice_json(const ChoilResult& result, const ReportSettings& settings) {
  Json json = choil_advice(result, settings.tolerance_mm, settings.unit);
  for (const std::string& advice : result.advice) json.push_back(advice);
  return json;
}

}  // namespace

std::string choil_json(const ChoilResult& result, const ChoilSettings& measured_with,
                       const Photo& photo, const CameraModel& camera,
                       const ReportSettings& settings) {
  Json json = report_json("choil", settings);
  json["verdict"] = name(choil_verdict(result, settings));
  json["quantities"] = choil_quantities_json(result);
  json["shape"] = {{"left", name(result.left.shape)}, {"right", name(result.right.shape)}};
  json["range"] = {{"from", json_mm(result.range_from_mm)}, {"to", json_mm(result.range_to_mm)}};
  json["axis"] = axis_json(result);
  json["stations"] = Json::array();
  for (const ChoilDepth& depth : choil_stations(result)) {
    json["stations"].push_back(depth_json(depth));
  }
  json["budget"] = budget_json(result.budget, choil_quantity_names());
  json["advice"] = advice_json(result, settings);
  json["warnings"] = all_warnings(result.warnings, std::array{&photo});
  json["photo_quality"] = photo_quality_json(result);
  json["input"] = input_json(photo);
  json["camera"] = camera_json(camera);
  json["card"] = card_json(CardKind::heel, result.pose, result.corners_found, measured_with.print);
  json["settings"] = settings_json(measured_with, settings);
  return json_text(json);
}

}  // namespace evenbevel
