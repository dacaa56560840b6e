#include "evenbevel/advice.hpp"
#include "evenbevel/plan_report.hpp"
#include "evenbevel_version.hpp"
#include "plan/quantities.hpp"
#include "statement/json.hpp"

namespace evenbevel {
namespace {

constexpr int kPlanDecimals = 6;

double plan_rounded(double value) { return evenbevel::rounded(value, kPlanDecimals); }

double in_file(PlanQuantity quantity, double value) {
  return plan_rounded(is_angle(quantity) ? degrees(value) : value);
}

void put_length(Json& json, const char* key, const std::optional<double>& mm) {
  put(json, key, mm, kPlanDecimals);
}

Json names(const std::vector<PlanQuantity>& quantities) {
  Json json = Json::array();
  for (const PlanQuantity quantity : quantities) json.push_back(name(quantity));
  return json;
}

Json quantities_json(const Plan& plan) {
  Json json = Json::object();
  for (const auto& [quantity, value] : plan.values) {
    json[std::string(name(quantity))] = {{"value", in_file(quantity, value.value)},
                                         {"unit", is_angle(quantity) ? "deg" : "mm"},
                                         {"given", value.given},
                                         {"from", names(value.from)}};
  }
  return json;
}

Json drills_json(const Plan& plan) {
  Json json = Json::array();
  for (const DrillChoice& choice : plan.drill_choices) {
    json.push_back({{"series", name(choice.drill.series)},
                    {"name", choice.drill.name},
                    {"diameter", plan_rounded(choice.drill.diameter_mm)},
                    {"line", plan_rounded(choice.line_mm)},
                    {"gap", plan_rounded(choice.gap_mm)},
                    {"nearest", choice.nearest}});
  }
  return json;
}

Json rests_json(const Plan& plan) {
  Json json = Json::array();
  for (const RestSetting& rest : plan.rests) {
    Json row = {{"what", rest.what},
                {"to_belt", plan_rounded(degrees(rest.to_belt_rad))},
                {"from_square", plan_rounded(degrees(rest.from_square_rad))}};
    put_length(row, "shim", rest.shim_mm);
    json.push_back(row);
  }
  return json;
}

Json behind_edge_json(const Plan& plan) {
  Json json = Json::array();
  for (const BehindEdge& each : plan.behind_edge) {
    Json row = {{"depth", plan_rounded(each.depth_mm)}, {"ground", plan_rounded(each.ground_mm)}};
    put_length(row, "sharpened", each.sharpened_mm);
    json.push_back(row);
  }
  return json;
}

Json stations_json(const Plan& plan) {
  Json json = Json::array();
  for (const PlanStation& station : plan.stations) {
    Json row = {{"x", plan_rounded(station.x_mm)},
                {"thickness", plan_rounded(station.thickness_mm)},
                {"off_face", plan_rounded(station.off_face_mm)}};
    put_length(row, "scribe_height", station.scribe_height_mm);
    put_length(row, "bevel_height", station.bevel_height_mm);
    if (station.bevel_angle_rad)
      row["bevel_angle"] = plan_rounded(degrees(*station.bevel_angle_rad));
    json.push_back(row);
  }
  return json;
}

Json gaps_json(const Plan& plan) {
  Json json = Json::array();
  for (const PlanGap& gap : plan.gaps) {
    Json sets = Json::array();
    for (const std::vector<PlanQuantity>& set : gap.give) sets.push_back(names(set));
    json.push_back({{"what", gap.what}, {"give", sets}});
  }
  return json;
}

}  // namespace

std::string plan_json(const Plan& plan, const std::string& command_line) {
  Json json = {{"schema", "evenbevel.plan/1"},
               {"program", "evenbevel " EVENBEVEL_VERSION},
               {"command", command_line},
               {"knife", plan.request.knife},
               {"quantities", quantities_json(plan)}};
  put_length(json, "far_line", plan.far_line_mm);
  json["drills"] = drills_json(plan);
  if (plan.facet) {
    json["facet"] = {{"angle", plan_rounded(degrees(plan.request.facet_angle_rad))},
                     {"height", plan_rounded(plan.facet->height_mm)},
                     {"width", plan_rounded(plan.facet->width_mm)}};
  }
  json["behind_edge"] = behind_edge_json(plan);
  if (plan.bevel_line) {
    json["bevel_line"] = {{"off_bevel", plan_rounded(plan.bevel_line->off_bevel)},
                          {"off_flat", plan_rounded(plan.bevel_line->off_flat)}};
  }
  json["rests"] = rests_json(plan);
  put_length(json, "spine_lift", plan.spine_lift_mm);
  json["stations"] = stations_json(plan);
  json["missing"] = gaps_json(plan);
  json["cautions"] = cautions();
  return json_text(json);
}

}  // namespace evenbevel
