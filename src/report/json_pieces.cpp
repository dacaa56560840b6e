#include "report/json_pieces.hpp"

#include <algorithm>
#include <cmath>

#include "evenbevel_version.hpp"
#include "report/sha256.hpp"

namespace evenbevel {
namespace {

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

}  // namespace

void put(Json& json, const char* key, const std::optional<double>& value, int decimals) {
  if (value && std::isfinite(*value)) json[key] = rounded(*value, decimals);
}

void put(Json& json, const char* key, const std::string& value) {
  if (!value.empty()) json[key] = value;
}

void put(Json& json, const char* key, const std::optional<Eigen::Vector2d>& px) {
  if (px && px->allFinite()) json[key] = {json_px(px->x()), json_px(px->y())};
}

void put(Json& json, const char* key, const std::optional<Measured>& value, bool angle) {
  if (measured(value)) json[key] = measured_json(*value, angle);
}

Json measured_json(const Measured& value, bool angle) {
  const double factor = angle ? degrees(1.0) : 1.0;
  return {{"value", json_mm(factor * value.value)},
          {"u", json_mm(factor * value.u)},
          {"U95", json_mm(factor * U95(value))}};
}

Json report_json(const char* view, const ReportSettings& settings) {
  Json json = {{"schema", "evenbevel.report/1"},
               {"program", {{"name", "evenbevel"}, {"version", EVENBEVEL_VERSION}}}};
  put(json["program"], "command_line", settings.command_line);
  json["view"] = view;
  json["left_and_right"] = left_and_right();
  json["units"] = {{"length", "mm"}, {"angle", "deg"}, {"pixel", "px"}};
  return json;
}

Json quantities_json(std::span<const Quantity> quantities) {
  Json json = Json::object();
  for (const Quantity& quantity : quantities) json[quantity.what.name] = measured_json(quantity);
  return json;
}

Json budget_json(std::span<const QuantityBudgetLine> budget, std::span<const QuantityName> names) {
  Json json = Json::array();
  for (const auto& [quantity, line] : budget) {
    const QuantityName* name = find_name(names, quantity);
    const bool angle = name != nullptr && name->kind == QuantityKind::angle;
    const double u = angle ? degrees(line.u) : line.u;
    json.push_back({{"quantity", quantity}, {"source", line.cause}, {"u", json_mm(u)}});
    if (std::isfinite(line.dof)) json.back()["dof"] = rounded(line.dof, 1);
  }
  return json;
}

Json input_json(const Photo& photo) {
  Json json = {{"photo", photo.name},
               {"width_px", photo.pixels.cols},
               {"height_px", photo.pixels.rows},
               {"exif_orientation", photo.orientation}};
  if (const auto hash = sha256_of_file(photo.name)) json["sha256"] = *hash;
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
  json["fx_px"] = json_px(camera.fx_px);
  json["fy_px"] = json_px(camera.fy_px);
  json["cx_px"] = json_px(camera.cx_px);
  json["cy_px"] = json_px(camera.cy_px);
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

namespace {

Json lens_json(const LensChange& lens) {
  const auto u = [&](int axis) { return std::sqrt(lens.centre_covariance(axis, axis)); };
  return {{"focal_length_percent", rounded(100.0 * lens.focal, 3)},
          {"focal_length_percent_u", rounded(100.0 * lens.focal_u, 3)},
          {"cx_px", rounded(lens.centre_px.x(), 2)},
          {"cx_px_u", rounded(u(0), 2)},
          {"cy_px", rounded(lens.centre_px.y(), 2)},
          {"cy_px_u", rounded(u(1), 2)}};
}

}  // namespace

Json card_json(CardKind kind, const CardPose& pose, int corners_found, const PrintScale& print) {
  return {{"kind", name(kind)},
          {"corners_found", corners_found},
          {"corners_used", pose.corners},
          {"corners_rejected", pose.rejected},
          {"rms_px", json_px(pose.rms_px)},
          {"worst_px", json_px(pose.worst_px)},
          {"print_scale_along", rounded(print.along, 6)},
          {"print_scale_across", rounded(print.across, 6)},
          {"print_scale_u", rounded(print.u, 6)},
          {"lens_against_camera_file", lens_json(pose.lens)}};
}

void put_display(Json& json, const ReportSettings& settings) {
  put(json, "tolerance", settings.tolerance_mm);
  put(json, "land", settings.wanted_land_mm);
  json["display_unit"] = settings.unit == LengthUnit::mm ? "mm" : "in";
}

std::vector<std::string> all_warnings(const std::vector<std::string>& measurement,
                                      std::span<const Photo* const> photos) {
  std::vector<std::string> all = measurement;
  for (const Photo* photo : photos) {
    for (const std::string& warning : photo->warnings) {
      if (std::find(all.begin(), all.end(), warning) == all.end()) all.push_back(warning);
    }
  }
  return all;
}

}  // namespace evenbevel
