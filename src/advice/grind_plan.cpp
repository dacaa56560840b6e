#include <algorithm>
#include <cmath>

#include "advice/sentences.hpp"

namespace evenbevel {
namespace {

double tan_of_facets(const EdgeResult& result) {
  if (!result.facet_angle_left_rad || !result.facet_angle_right_rad) return 1.0;  // 45 degrees
  const double mean_rad =
      0.5 * (result.facet_angle_left_rad->value + result.facet_angle_right_rad->value);
  const double tangent = std::tan(mean_rad);
  return tangent > 0.0 && std::isfinite(tangent) ? tangent : 1.0;
}

}  // namespace

GrindPlan grind_plan(const EdgeResult& result, std::optional<double> wanted_mm,
                     std::optional<double> tolerance_mm, LengthUnit unit) {
  GrindPlan plan{.zones = zones(result, wanted_mm, tolerance_mm), .context = {}};
  plan.context = {.stage = result.stage,
                  .unit = unit,
                  .wanted_mm = wanted_mm,
                  .tolerance_mm = tolerance_mm,
                  .tan_facet = tan_of_facets(result)};
  if (plan.zones.empty()) return plan;
  plan.context.from_mm = plan.zones.front().from_mm;
  plan.context.to_mm = plan.zones.back().to_mm;
  const bool widths = std::any_of(plan.zones.begin(), plan.zones.end(),
                                  [](const Zone& zone) { return zone.mean.width_mm.has_value(); });
  if (!widths) plan.context.wanted_mm.reset();
  return plan;
}

}  // namespace evenbevel
