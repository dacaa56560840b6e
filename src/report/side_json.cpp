#include "advice/bevel_zones.hpp"
#include "evenbevel/advice.hpp"
#include "evenbevel/side_report.hpp"
#include "report/json_pieces.hpp"
#include "report/side_quantities.hpp"
#include "report/side_words.hpp"

namespace evenbevel {
namespace {

Json side_quantities_json(const SideResult& result) {
  Json json = quantities_json(measured_of(side_quantities(), result));
  constexpr const char* kWorst = "bevel_height_difference_worst";
  if (json.contains(kWorst)) json[kWorst]["x"] = json_mm(result.worst_x_mm);
  const auto over = [&](const char* quantity, const std::optional<BladeStretch>& stretch) {
    if (!stretch || !json.contains(quantity)) return;
    json[quantity]["x_from"] = json_mm(stretch->from_mm);
    json[quantity]["x_to"] = json_mm(stretch->to_mm);
  };
  over("bevel_height_left", result.bevel_stretch_left);
  over("bevel_height_right", result.bevel_stretch_right);
  over("bevel_height_difference", result.bevel_stretch_difference);
  return json;
}

Json bevel_at_json(const std::vector<BevelAtPlace>& places) {
  Json json = Json::array();
  for (const BevelAtPlace& at : places) {
    Json place = {{"from", at.asked.from_tip ? "tip" : "plunge_line"},
                  {"distance", json_mm(at.asked.distance_mm)},
                  {"x", json_mm(at.x_mm)}};
    put(place, "bevel_height_left", at.left_mm, false);
    put(place, "bevel_height_right", at.right_mm, false);
    put(place, "bevel_height_difference", at.difference_mm, false);
    json.push_back(place);
  }
  return json;
}

Json places_json(const FaceStation& station) {
  Json json = Json::object();
  put(json, "edge", station.edge_px);
  put(json, "bevel", station.bevel_px);
  put(json, "spine", station.spine_px);
  return json;
}

Json station_json(const SideStation& station) {
  Json json = {{"x", json_mm(station.x_mm)}};
  for (const Face face : kFaces) {
    const Json places = places_json(station_on(station, face));
    if (!places.empty()) json["px"][std::string(name(face))] = places;
  }
  for (const auto& quantity : face_quantities()) {
    for (const Face face : kFaces) {
      put(json, name_on(quantity.name, face).c_str(), station_on(station, face).*quantity.member,
          quantity.kind == QuantityKind::angle);
    }
  }
  for (const Quantity& quantity : measured_of(side_station_quantities(), station)) {
    json[quantity.what.name] = measured_json(quantity);
  }
  return json;
}

Json plunge_json(const PlungeAtHeight& plunge) {
  Json json = {{"z", json_mm(plunge.z_mm)}};
  put(json, "plunge_left", plunge.left_mm, false);
  put(json, "plunge_right", plunge.right_mm, false);
  put(json, "plunge_mismatch", plunge.mismatch_mm, false);
  return json;
}

Json traces_json(const SideResult& result, Face face) {
  Json json = Json::object();
  for (const FaceTrace& trace : result.traces) {
    if (trace.face != face) continue;
    json[std::string(name(trace.kind))] = {{"points", trace.points_px.size()},
                                           {"coverage", rounded(trace.coverage, 4)}};
  }
  return json;
}

Json look_json(const FaceLook& look, const SideResult& result) {
  Json json = Json::object();
  put(json, "coverage", look.bevel_coverage, 4);
  put(json, "scale_px_per_mm", look.scale_px_per_mm, 4);
  put(json, "blur_px", look.blur_px, 3);
  put(json, "camera_distance", look.camera_distance_mm, 2);
  put(json, "clipped_share", look.clipped_share, 4);
  json["traces"] = traces_json(result, look.face);
  return json;
}

Json outlines_json(const OutlineFit& fit) {
  return {{"rms", json_mm(fit.rms_mm)},
          {"worst", json_mm(fit.worst_mm)},
          {"u_x", json_mm(fit.u_x_mm)},
          {"u_z", json_mm(fit.u_z_mm)},
          {"u_turn", json_mm(degrees(fit.u_turn_rad))}};
}

Json settings_json(const SideSettings& with, const ReportSettings& settings) {
  Json json = {{"thickness", json_mm(with.thickness_mm)},
               {"thickness_u", json_mm(with.thickness_u_mm)}};
  put(json, "tip_thickness", with.tip_thickness_mm);
  put(json, "land", with.land_mm);
  put(json, "centreline_offset", with.centreline_offset_mm);
  json["step"] = json_mm(with.step_mm);
  if (with.mean_over)
    json["mean_over"] = {json_mm(with.mean_over->from_mm), json_mm(with.mean_over->to_mm)};
  put_display(json, settings);
  return json;
}

Json advice_json(const SideResult& result, const ReportSettings& settings) {
  Json json = side_advice(result, settings.tolerance_mm, settings.unit);
  for (const std::string& advice : result.advice) json.push_back(advice);
  return json;
}

/// The stretches where a face has something to lose.
Json zones_json(const SideResult& result, const ReportSettings& settings) {
  Json json = Json::array();
  for (const BevelZone& zone : bevel_zones(result, settings.tolerance_mm)) {
    if (!zone.grind) continue;
    Json most = measured_json(zone.most_mm, false);
    most["x"] = json_mm(zone.most_x_mm);
    json.push_back({{"grind", name(*zone.grind)},
                    {"from", json_mm(zone.from_mm)},
                    {"to", json_mm(zone.to_mm)},
                    {"come_up_least", measured_json(zone.least_mm, false)},
                    {"come_up_most", most}});
  }
  return json;
}

std::vector<const Photo*> pictures(std::span<const FacePhoto> photos) {
  std::vector<const Photo*> all;
  all.reserve(photos.size());
  for (const FacePhoto& face : photos) all.push_back(face.photo);
  return all;
}

}  // namespace

std::string side_json(const SideResult& result, const SideSettings& measured_with,
                      std::span<const FacePhoto> photos, const ReportSettings& settings) {
  Json json = report_json("side", settings);
  json["x_origin"] = result.x_from_plunge ? "plunge_lines" : "handle_end";
  json["verdict"] = name(side_verdict(result, settings));
  json["quantities"] = side_quantities_json(result);
  if (!result.bevel_at.empty()) json["bevel_height_at"] = bevel_at_json(result.bevel_at);
  json["stations"] = Json::array();
  for (const SideStation& station : result.stations) {
    json["stations"].push_back(station_json(station));
  }
  json["plunges"] = Json::array();
  for (const PlungeAtHeight& plunge : result.plunges)
    json["plunges"].push_back(plunge_json(plunge));
  if (!result.plunges.empty()) json["plunge_height"] = json_mm(result.plunge_z_mm);
  if (result.outlines) json["outlines"] = outlines_json(*result.outlines);
  json["budget"] = budget_json(result.budget, names_of(side_quantities()));
  json["advice"] = advice_json(result, settings);
  if (result.faces.size() > 1) json["zones"] = zones_json(result, settings);
  json["warnings"] = all_warnings(result.warnings, pictures(photos));
  for (const char* part : {"photo_quality", "input", "camera", "card"}) json[part] = Json::object();
  for (const FaceLook& look : result.faces) {
    const std::string face(name(look.face));
    json["photo_quality"][face] = look_json(look, result);
    json["card"][face] =
        card_json(CardKind::side, look.pose, look.corners_found, measured_with.print);
  }
  for (const FacePhoto& photo : photos) {
    const std::string face(name(photo.face));
    json["input"][face] = input_json(*photo.photo);
    json["camera"][face] = camera_json(*photo.camera);
  }
  json["settings"] = settings_json(measured_with, settings);
  return json_text(json);
}

}  // namespace evenbevel
