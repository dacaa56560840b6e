#include <cmath>

#include <nlohmann/json.hpp>

#include "evenbevel/advice.hpp"
#include "evenbevel/report.hpp"
#include "evenbevel_version.hpp"
#include "report/quantities.hpp"
#include "report/sha256.hpp"
#include "report/words.hpp"

namespace evenbevel {
namespace {

using Json = nlohmann::ordered_json;

/// To a decimal place, so that the file shows 0.031 rather than 0.031000000000000003.
double rounded(double value, int decimals) {
  const double scale = std::pow(10.0, decimals);
  const double result = std::round(value * scale) / scale;
  return result == 0.0 ? 0.0 : result;  // no "-0.0"
}

double mm(double value) { return rounded(value, 5); }
double px(double value) { return rounded(value, 3); }

/// Left out when there is nothing to say: no key, rather than null or zero.
void put(Json& json, const char* key, const std::optional<double>& value, int decimals = 5) {
  if (value && std::isfinite(*value)) json[key] = rounded(*value, decimals);
}
void put(Json& json, const char* key, const std::string& value) {
  if (!value.empty()) json[key] = value;
}

Json measured_json(const Measured& value, bool angle) {
  const double factor = angle ? degrees(1.0) : 1.0;
  return {{"value", mm(factor * value.value)},
          {"u", mm(factor * value.u)},
          {"U95", mm(factor * U95(value))}};
}

Json quantities_json(const EdgeResult& result) {
  Json json = Json::object();
  for (const EdgeQuantity& quantity : edge_quantities()) {
    const std::optional<Measured> value = measured(result.*quantity.member);
    if (!value) continue;
    json[quantity.name] = measured_json(*value, quantity.kind == QuantityKind::angle);
    if (quantity.member == &EdgeResult::centreline_offset_worst_mm) {
      json[quantity.name]["x"] = mm(result.worst_x_mm);
    }
  }
  return json;
}

Json station_json(const EdgeStation& station) {
  Json json = {{"x", mm(station.x_mm)}};
  if (anything_seen(station)) json["px"] = {px(station.px.x()), px(station.px.y())};
  for (const StationQuantity& quantity : station_quantities()) {
    const std::optional<Measured> value = measured(station.*quantity.member);
    if (value) json[quantity.name] = measured_json(*value, false);
  }
  if (measured(station.centreline_offset_mm)) {
    put(json, "residual_px", station.residual_px, 3);
    Json budget = Json::array();
    for (const BudgetLine& line : station.budget) {
      budget.push_back({{"source", line.cause}, {"u", mm(line.u)}});
    }
    if (!budget.empty()) json["budget"] = budget;
  }
  return json;
}

Json budget_json(const EdgeResult& result) {
  Json json = Json::array();
  for (const auto& [quantity, line] : result.budget) {
    const double factor = is_angle(quantity) ? degrees(1.0) : 1.0;
    json.push_back({{"quantity", quantity}, {"source", line.cause}, {"u", mm(factor * line.u)}});
    if (std::isfinite(line.dof)) json.back()["dof"] = rounded(line.dof, 1);
  }
  return json;
}

Json identity_json(const CameraIdentity& identity) {
  Json json = Json::object();
  put(json, "make", identity.make);
  put(json, "model", identity.model);
  put(json, "lens", identity.lens);
  put(json, "focal_length", identity.focal_length_mm, 3);
  put(json, "focal_length_35mm", identity.focal_length_35mm, 3);
  put(json, "digital_zoom", identity.digital_zoom, 3);
  return json;
}

Json input_json(const Photo& photo) {
  Json json = {{"photo", photo.name},
               {"width_px", photo.pixels.cols},
               {"height_px", photo.pixels.rows},
               {"exif_orientation", photo.orientation}};
  const Json identity = identity_json(photo.camera);
  if (!identity.empty()) json["exif_camera"] = identity;
  return json;
}

Json camera_json(const CameraModel& camera) {
  Json json = {{"guessed", camera.guessed}};
  put(json, "file", camera.file);
  if (!camera.file.empty()) {
    if (const auto hash = sha256_of_file(camera.file)) json["sha256"] = *hash;
  }
  json["width_px"] = camera.width_px;
  json["height_px"] = camera.height_px;
  json["fx_px"] = px(camera.fx_px);
  json["fy_px"] = px(camera.fy_px);
  json["cx_px"] = px(camera.cx_px);
  json["cy_px"] = px(camera.cy_px);
  json["distortion_k1_k2_p1_p2_k3"] = Json::array();
  for (const double k : camera.distortion) {
    json["distortion_k1_k2_p1_p2_k3"].push_back(rounded(k, 7));
  }
  put(json, "rms_px", camera.rms_px, 3);
  put(json, "nearest", camera.nearest_mm, 1);
  put(json, "farthest", camera.farthest_mm, 1);
  const Json identity = identity_json(camera.identity);
  if (!identity.empty()) json["identity"] = identity;
  return json;
}

Json card_json(const EdgeResult& result, const EdgeSettings& with) {
  if (!result.pose) return {{"kind", "none"}, {"quick_look", true}, {"ruler", "thickness"}};
  Json json = {{"kind", "edge"},
               {"corners_found", result.corners_found},
               {"corners_used", result.pose->corners},
               {"corners_rejected", result.pose->rejected},
               {"rms_px", px(result.pose->rms_px)},
               {"worst_px", px(result.pose->worst_px)},
               {"print_scale_along", rounded(with.print.along, 6)},
               {"print_scale_across", rounded(with.print.across, 6)},
               {"print_scale_u", rounded(with.print.u, 6)}};
  return json;
}

Json settings_json(const EdgeSettings& with, const ReportSettings& settings) {
  Json json = {{"thickness", mm(with.thickness_mm)}, {"thickness_u", mm(with.thickness_u_mm)}};
  put(json, "edge_height", with.edge_height_mm);
  if (with.stage) json["stage"] = name(*with.stage);
  if (with.tip) json["tip"] = *with.tip == Tip::left ? "left" : "right";
  json["step"] = mm(with.step_mm);
  json["facet_angle"] = rounded(degrees(with.facet_angle_rad), 4);
  json["jaw_squareness_u"] = rounded(degrees(with.jaw_squareness_u_rad), 4);
  put(json, "tolerance", settings.tolerance_mm);
  put(json, "land", settings.wanted_land_mm);
  json["display_unit"] = settings.unit == LengthUnit::mm ? "mm" : "in";
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

Json advice_json(const EdgeResult& result, const ReportSettings& settings) {
  Json json = edge_advice(result, settings.wanted_land_mm, settings.tolerance_mm, settings.unit);
  for (const std::string& advice : result.advice) json.push_back(advice);
  return json;
}

}  // namespace

std::string edge_json(const EdgeResult& result, const EdgeSettings& measured_with,
                      const Photo& photo, const CameraModel& camera,
                      const ReportSettings& settings) {
  Json json = {{"schema", "evenbevel.report/1"},
               {"program", {{"name", "evenbevel"}, {"version", EVENBEVEL_VERSION}}}};
  put(json["program"], "command_line", settings.command_line);
  json["view"] = "edge";
  json["stage"] = name(result.stage);
  json["tip"] = result.tip == Tip::left ? "left" : "right";
  json["x_origin"] = result.x_from_plunge ? "plunge_lines" : "first_station";
  json["left_and_right"] = left_and_right();
  json["units"] = {{"length", "mm"}, {"angle", "deg"}, {"pixel", "px"}};
  json["verdict"] = name(edge_verdict(result, settings));
  json["quantities"] = quantities_json(result);
  json["stations"] = Json::array();
  for (const EdgeStation& station : result.stations) {
    json["stations"].push_back(station_json(station));
  }
  json["budget"] = budget_json(result);
  json["advice"] = advice_json(result, settings);
  json["warnings"] = all_warnings(result, photo);
  json["photo_quality"] = photo_quality_json(result);
  json["input"] = input_json(photo);
  json["camera"] = camera_json(camera);
  json["card"] = card_json(result, measured_with);
  json["settings"] = settings_json(measured_with, settings);
  constexpr int kIndent = 1;
  // A file name may hold bytes that are not UTF-8: replaced, not thrown on.
  return json.dump(kIndent, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace evenbevel
