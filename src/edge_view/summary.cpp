#include "summary.hpp"

#include <algorithm>
#include <cmath>

#include "along.hpp"

namespace evenbevel::edge {
namespace {

std::optional<Measured> mean_of(const std::vector<EdgeStation>& stations,
                                std::optional<Measured> EdgeStation::*which) {
  double value = 0.0, u = 0.0;
  int count = 0;
  for (const EdgeStation& s : stations) {
    if (!(s.*which)) continue;
    value += (s.*which)->value;
    u += (s.*which)->u;
    ++count;
  }
  if (count == 0) return std::nullopt;
  return Measured{value / count, u / count};
}

}  // namespace

void summarise(EdgeResult& result, const Metric& metric) {
  result.centreline_offset_mm = metric.mean_offset_mm;
  for (const BudgetLine& line : metric.mean_budget) {
    result.budget.push_back({"centreline_offset", line});
  }
  int seen = 0;
  const EdgeStation* worst = nullptr;
  for (const EdgeStation& s : result.stations) {
    if (!s.centreline_offset_mm) continue;
    ++seen;
    if (worst == nullptr ||
        std::abs(s.centreline_offset_mm->value) > std::abs(worst->centreline_offset_mm->value)) {
      worst = &s;
    }
  }
  result.coverage = result.stations.empty()
                        ? 0.0
                        : static_cast<double>(seen) / static_cast<double>(result.stations.size());
  if (worst != nullptr) {
    const Measured& c = *worst->centreline_offset_mm;
    result.centreline_offset_worst_mm = c;
    result.worst_x_mm = worst->x_mm;
    result.symmetry_mm = Measured{2.0 * std::abs(c.value), 2.0 * c.u, c.dof};
    for (const BudgetLine& line : worst->budget) {
      result.budget.push_back({"centreline_offset_worst", line});
    }
  }
  result.line_gap_mm = mean_of(result.stations, &EdgeStation::line_gap_mm);
  result.land_width_mm = mean_of(result.stations, &EdgeStation::land_width_mm);
  result.land_taper_mm = land_taper_mm(result.stations);
  if (result.land_taper_mm)
    result.budget.push_back({"land_taper", {kLight, result.land_taper_mm->u}});
  result.facet_width_left_mm = mean_of(result.stations, &EdgeStation::facet_width_left_mm);
  result.facet_width_right_mm = mean_of(result.stations, &EdgeStation::facet_width_right_mm);
  if (result.facet_width_left_mm && result.centreline_offset_mm) {
    // wL - wR = -2c: what moves all borders outward alike leaves the difference alone.
    result.facet_width_difference_mm =
        Measured{result.facet_width_left_mm->value - result.facet_width_right_mm->value,
                 2.0 * result.centreline_offset_mm->u, result.centreline_offset_mm->dof};
  }
}

void add_thickness(EdgeResult& result, const Metric& metric, double camera_height_mm) {
  const std::optional<Measured> mean = mean_of(result.stations, &EdgeStation::thickness_mm);
  if (!mean) return;
  const std::vector<BudgetLine> budget{
      {kLight, metric.flats_width_u_mm},
      {"edge height", mean->value * metric.edge_height_u_mm / camera_height_mm}};
  result.thickness_mm = combine(mean->value, budget);
  for (const BudgetLine& line : budget) result.budget.push_back({"thickness", line});
}

void add_warnings(EdgeResult& result, const std::vector<BandReadings>& bands) {
  const double clipped = mean_clipped_share(bands);
  if (clipped > 0.25) {
    result.warnings.push_back(
        remark<RemarkCode::edge_over_exposed>(static_cast<int>(100 * clipped)));
    result.advice.push_back(remark<RemarkCode::expose_edge_less>());
  }
  if (result.blur_px > 1.8) {
    result.warnings.push_back(remark<RemarkCode::photo_soft>(result.blur_px));
    result.advice.push_back(remark<RemarkCode::focus_on_edge>());
  }
  if (result.coverage < 0.7) {
    result.warnings.push_back(
        remark<RemarkCode::few_stations>(static_cast<int>(100 * result.coverage)));
  }
  if (std::abs(result.camera_lateral_mm) > 8.0 && result.stage != Stage::scribed) {
    result.advice.push_back(
        remark<RemarkCode::move_over_edge>(result.camera_lateral_mm > 0 ? "right" : "left"));
  }
  if (result.stage == Stage::bevelled) {
    result.warnings.push_back(remark<RemarkCode::flats_end_at_plunges>());
  }
}

void add_plunge_warning(EdgeResult& result, bool ricasso_seen) {
  if (!ricasso_seen || result.plunge_mismatch_mm) return;
  result.warnings.push_back(remark<RemarkCode::plunges_not_clear>());
}

void add_tip_warning(EdgeResult& result, const EdgeSettings& settings, bool ricasso_seen) {
  if (settings.tip || result.plunge_mismatch_mm) return;
  const std::string side = result.tip == Tip::left ? "left" : "right";
  const bool on_card = result.pose.has_value();
  const Remark assumed = on_card ? remark<RemarkCode::tip_assumed_on_card>(side)
                                 : remark<RemarkCode::tip_assumed_in_picture>(side);
  const Remark from_edge = on_card ? remark<RemarkCode::tip_from_edge_on_card>(side)
                                   : remark<RemarkCode::tip_from_edge_in_picture>(side);
  result.warnings.insert(result.warnings.begin(), ricasso_seen ? from_edge : assumed);
}

}  // namespace evenbevel::edge
