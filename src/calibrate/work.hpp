#pragma once

#include <span>
#include <string>
#include <utility>
#include <vector>

#include "calibrate/adjust.hpp"
#include "evenbevel/calibrate.hpp"

namespace evenbevel::calibrate_detail {

/// A calibration under way: views still in, views already out.
struct Work {
  CalibrationSettings settings;
  cv::Size image_size;
  int offered = 0;
  std::vector<std::string> names;  ///< In step with adjustment.views.
  Adjustment adjustment;
  std::vector<LeftOut> left_out;

  void leave_out(std::size_t view, std::string reason) {
    left_out.push_back({names[view], 0, std::move(reason)});
    names.erase(names.begin() + static_cast<std::ptrdiff_t>(view));
    adjustment.views.erase(adjustment.views.begin() + static_cast<std::ptrdiff_t>(view));
  }
};

std::string one_decimal(double value);

/// @throws Error  Too few views are left; says why the others went.
void require_enough_views(const Work& work);

/// @throws Error  The card's normal is the same in all views.
void require_different_poses(const Adjustment& adjustment);

int used_corners(const AdjustView& view);

double median(std::vector<double> values);

/// Median residual length of the corners in use.
double view_median_px(const Adjustment& adjustment, const AdjustView& view);

/// Robust standard deviation of one coordinate over all views.
double robust_noise_px(const Adjustment& adjustment);

/// Huber's weights at two robust standard deviations, again and again until the camera rests.
void adjust_robustly(Adjustment& adjustment);

/// From homographies (in step with the views) to a robust fit of everything.
void fit_first(Work& work, std::span<const Eigen::Matrix3d> homographies);

/// Leaves out photos that do not fit the others, then stray corners; the corners left have weight
/// 1. @throws Error  Too few views are left.
void leave_out_misfits(Work& work);

}  // namespace evenbevel::calibrate_detail
