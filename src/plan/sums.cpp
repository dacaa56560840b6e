#include <algorithm>
#include <cmath>

#include "evenbevel/error.hpp"
#include "plan/quantities.hpp"

namespace evenbevel {
namespace {

using Q = PlanQuantity;
using std::tan;

constexpr int kMostStations = 200;

EdgeFacet edge_facet(double scribe_height_mm, double angle_rad) {
  return {scribe_height_mm / tan(angle_rad), scribe_height_mm / std::sin(angle_rad)};
}

std::vector<RestSetting> rests(const Plan& plan) {
  const std::optional<double> rest_length = plan.at(Q::rest_length);
  std::vector<RestSetting> settings;
  const auto add = [&](const char* what, const std::optional<double>& angle_rad) {
    if (!angle_rad || *angle_rad == 0.0) return;
    RestSetting rest{what, *angle_rad, kPi / 2.0 - *angle_rad};
    if (rest_length) rest.shim_mm = *rest_length * std::sin(*angle_rad);
    settings.push_back(std::move(rest));
  };
  if (plan.facet) add("edge facets", plan.request.facet_angle_rad);
  add("bevel", plan.at(Q::bevel_angle));
  add("distal taper", plan.at(Q::taper_angle));
  add("sharpening", plan.at(Q::sharpening_angle));
  return settings;
}

std::vector<BehindEdge> behind_edge(const Plan& plan) {
  const std::optional<double> land = plan.at(Q::land), bevel = plan.at(Q::bevel_angle);
  if (!land || !bevel) return {};
  const std::optional<double> sharpening = plan.at(Q::sharpening_angle);
  const double most_mm = plan.at(Q::stock).value_or(HUGE_VAL);
  const double deepest_mm = plan.at(Q::blade_height).value_or(HUGE_VAL);
  std::vector<BehindEdge> rows;
  for (const double depth_mm : plan.request.depths_mm) {
    if (depth_mm > deepest_mm) continue;
    BehindEdge row{depth_mm, std::min(*land + 2.0 * depth_mm * tan(*bevel), most_mm), {}};
    if (sharpening) row.sharpened_mm = std::min(2.0 * depth_mm * tan(*sharpening), row.ground_mm);
    rows.push_back(row);
  }
  return rows;
}

std::optional<double> spine_lift_mm(const Plan& plan) {
  const std::optional<double> height = plan.at(Q::blade_height), stock = plan.at(Q::stock);
  const std::optional<double> angle = plan.at(Q::sharpening_angle);
  if (!height || !stock || !angle) return std::nullopt;
  return *height * std::sin(*angle) - *stock / 2.0 * std::cos(*angle);
}

PlanStation station(const Plan& plan, double x_mm) {
  const double stock = *plan.at(Q::stock);
  const double lost_mm = (stock - *plan.at(Q::tip_thickness)) * x_mm / *plan.at(Q::length);
  PlanStation out{x_mm, stock - lost_mm, lost_mm / 2.0, {}, {}, {}};
  const std::optional<double> land = plan.at(Q::land);
  if (!land) return out;
  const double line_mm = (out.thickness_mm - *land) / 2.0;
  out.scribe_height_mm = line_mm;
  if (plan.at(Q::bevel_angle)) out.bevel_height_mm = line_mm / tan(*plan.at(Q::bevel_angle));
  if (plan.at(Q::bevel_height)) {
    out.bevel_angle_rad = std::atan(line_mm / *plan.at(Q::bevel_height));
  }
  return out;
}

std::vector<PlanStation> stations(const Plan& plan) {
  const std::optional<double> length = plan.at(Q::length);
  if (!length || !plan.at(Q::stock) || !plan.at(Q::tip_thickness)) return {};
  const double step_mm = std::max(plan.request.station_step_mm, *length / kMostStations);
  const double last_mm = *length - 1e-6;  // the tip itself comes last, once
  std::vector<PlanStation> out;
  for (int i = 0; i * step_mm < last_mm; ++i) out.push_back(station(plan, i * step_mm));
  out.push_back(station(plan, *length));
  return out;
}

void require_something_new(const Plan& plan) {
  const bool any = std::any_of(plan.values.begin(), plan.values.end(),
                               [](const auto& value) { return !value.second.given; });
  if (any || !plan.stations.empty() || !plan.rests.empty()) return;
  std::string wanted;
  for (const PlanGap& gap : plan.gaps) {
    wanted += "\n      for the " + gap.what + ": " + any_of_these(gap.give);
  }
  throw Error(plan.values.empty() ? "nothing is given" : "nothing follows from what is given",
              "give" + wanted);
}

}  // namespace

bool sharpening_shows(const Plan& plan) {
  return std::any_of(plan.behind_edge.begin(), plan.behind_edge.end(), [](const BehindEdge& row) {
    return row.sharpened_mm && *row.sharpened_mm < row.ground_mm;
  });
}

std::optional<double> Plan::at(PlanQuantity quantity) const {
  const auto found = values.find(quantity);
  if (found == values.end()) return std::nullopt;
  return found->second.value;
}

Plan make_plan(const PlanRequest& request) {
  Plan plan;
  plan.request = request;
  plan.values = solve_plan(request.given);
  const std::optional<double> stock = plan.at(Q::stock), land = plan.at(Q::land);
  const std::optional<double> line = plan.at(Q::scribe_height), bevel = plan.at(Q::bevel_angle);
  if (stock && land) {
    plan.far_line_mm = (*stock + *land) / 2.0;
    plan.drill_choices = drill_choices(*stock, *land);
  }
  if (line) plan.facet = edge_facet(*line, request.facet_angle_rad);
  plan.rests = rests(plan);
  plan.behind_edge = behind_edge(plan);
  if (bevel) plan.bevel_line = {1.0 / std::sin(*bevel), 1.0 / tan(*bevel)};
  plan.spine_lift_mm = spine_lift_mm(plan);
  plan.stations = stations(plan);
  plan.gaps = plan_gaps(plan.values);
  require_something_new(plan);
  return plan;
}

}  // namespace evenbevel
