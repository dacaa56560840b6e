#include <algorithm>
#include <string>
#include <vector>

#include "calibrate/work.hpp"

namespace evenbevel::calibrate_detail {

namespace {

/// Views whose typical corner is much worse than other photos'. One at a time: a bad photo bends
/// the camera and makes good ones look bad.
void leave_out_bad_views(Work& work) {
  constexpr double kTimesTypical = 4.0;
  constexpr double kHarmlessPx = 0.15;
  for (;;) {
    std::vector<double> scores;
    for (const AdjustView& view : work.adjustment.views) {
      scores.push_back(view_median_px(work.adjustment, view));
    }
    const auto worst = std::max_element(scores.begin(), scores.end());
    const double limit_px = std::max(kHarmlessPx, kTimesTypical * median(scores));
    if (*worst <= limit_px) return;
    work.leave_out(static_cast<std::size_t>(worst - scores.begin()),
                   "its corners miss by up to " + one_decimal(*worst) + " px");
    require_enough_views(work);
    adjust_robustly(work.adjustment);
  }
}

/// Marks the corners to use. True when the choice changed.
bool choose_corners(Adjustment& adjustment, double limit_px) {
  bool changed = false;
  for (AdjustView& view : adjustment.views) {
    const std::vector<Eigen::Vector2d> residuals = residuals_px(adjustment.camera, view);
    for (std::size_t i = 0; i < residuals.size(); ++i) {
      const double weight = residuals[i].norm() <= limit_px ? 1.0 : 0.0;
      changed = changed || weight != view.weights[i];
      view.weights[i] = weight;
    }
  }
  return changed;
}

void leave_out_thin_views(Work& work) {
  for (std::size_t v = work.names.size(); v-- > 0;) {
    const AdjustView& view = work.adjustment.views[v];
    const int used = used_corners(view);
    if (used >= work.settings.fewest_corners && 2 * used >= static_cast<int>(view.weights.size())) {
      continue;
    }
    work.leave_out(v, "only " + std::to_string(used) + " of " +
                          std::to_string(view.weights.size()) + " corners fit the others");
  }
  require_enough_views(work);
}

void leave_out_strays(Work& work) {
  constexpr int kRounds = 8;
  constexpr double kSigmas = 4.5;
  constexpr double kHarmlessPx = 0.05;
  for (int round = 0; round < kRounds; ++round) {
    const double limit_px = std::max(kHarmlessPx, kSigmas * robust_noise_px(work.adjustment));
    if (!choose_corners(work.adjustment, limit_px)) break;
    leave_out_thin_views(work);
    adjust(work.adjustment, 100);
  }
}

}  // namespace

void leave_out_misfits(Work& work) {
  leave_out_bad_views(work);
  leave_out_strays(work);
}

}  // namespace evenbevel::calibrate_detail
