#include "summary.hpp"

#include <algorithm>
#include <cmath>

namespace evenbevel::edge {
void add_thickness(EdgeResult& result, const Metric& metric, double camera_height_mm) {
  const std::optional<Measured> mean = mean_of(result.stations, &EdgeStation::thickness_mm);
  if (!mean) return;
  result.thickness_mm = combine(
      mean->value, {{kLight, metric.flats_width_u_mm},
                    {"edge height", mean->value * metric.edge_height_u_mm / camera_height_mm}});
}

void add_warnings(EdgeResult& result, const std::vector<BandReadings>& bands) {
  const double clipped = mean_clipped_share(bands);
  if (clipped > 0.25) {
    result.warnings.push_back(
        remark<RemarkCode::edge_over_exposed>(static_cast<int>(100 * clipped)));
    result.advice.push_back(remark<RemarkCode::expose_edge_less>());
  }
  if (result.blur_px > kSoftBlurPx) {
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
