#include "calibrate/work.hpp"

#include <algorithm>
#include <cmath>

#include "evenbevel/error.hpp"
#include "evenbevel/units.hpp"
#include "units/fixed.hpp"

namespace evenbevel::calibrate_detail {

namespace {

constexpr double kMedianOfRayleigh = 1.17741;  ///< Median length of a 2-D normal vector, sigma 1.

std::string reasons(const std::vector<LeftOut>& left_out) {
  constexpr std::size_t kMost = 6;
  std::string text;
  for (std::size_t i = 0; i < std::min(kMost, left_out.size()); ++i) {
    text += (i == 0 ? ": " : "; ") + left_out[i].name + " (" + left_out[i].reason + ")";
  }
  if (left_out.size() > kMost) text += "; and others";
  return text;
}

/// Largest angle between the card's normals of any two views, in the camera frame.
double spread_of_normals_rad(const Adjustment& adjustment) {
  double smallest_cosine = 1.0;
  for (const AdjustView& a : adjustment.views) {
    for (const AdjustView& b : adjustment.views) {
      smallest_cosine = std::min(smallest_cosine, a.T_camera_card.matrix.linear().col(2).dot(
                                                      b.T_camera_card.matrix.linear().col(2)));
    }
  }
  return std::acos(std::clamp(smallest_cosine, -1.0, 1.0));
}

}  // namespace

std::string one_decimal(double value) { return fixed(value, 1); }

void require_enough_views(const Work& work) {
  const auto usable = static_cast<int>(work.names.size());
  if (usable >= work.settings.fewest_views) return;
  throw Error("only " + std::to_string(usable) + " of " + std::to_string(work.offered) +
                  " photos can be used for the calibration, " +
                  std::to_string(work.settings.fewest_views) + " are needed" +
                  reasons(work.left_out),
              "take at least " + std::to_string(work.settings.fewest_views) +
                  " (better 12) sharp photos of the card: each part of the picture filled once, "
                  "the card tilted 20 to 45 degrees in different directions");
}

void require_different_poses(const Adjustment& adjustment) {
  const double spread_deg = degrees(spread_of_normals_rad(adjustment));
  if (spread_deg >= 3.0) return;
  throw Error("all photos show the card at the same pose: its tilt differs by " +
                  one_decimal(spread_deg) + " degrees only",
              "tilt the card or the camera 20 to 45 degrees between photos, in different "
              "directions; that is what shows the focal length");
}

int used_corners(const AdjustView& view) {
  return static_cast<int>(
      std::count_if(view.weights.begin(), view.weights.end(), [](double w) { return w > 0.0; }));
}

double median(std::vector<double> values) {
  if (values.empty()) return 0.0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

double view_median_px(const Adjustment& adjustment, const AdjustView& view) {
  std::vector<double> lengths;
  const std::vector<Eigen::Vector2d> residuals = residuals_px(adjustment.camera, view);
  for (std::size_t i = 0; i < residuals.size(); ++i) {
    if (view.weights[i] > 0.0) lengths.push_back(residuals[i].norm());
  }
  return median(std::move(lengths));
}

double robust_noise_px(const Adjustment& adjustment) {
  std::vector<double> lengths;
  for (const AdjustView& view : adjustment.views) {
    const std::vector<Eigen::Vector2d> residuals = residuals_px(adjustment.camera, view);
    for (std::size_t i = 0; i < residuals.size(); ++i) {
      if (view.weights[i] > 0.0) lengths.push_back(residuals[i].norm());
    }
  }
  return median(std::move(lengths)) / kMedianOfRayleigh;
}

void adjust_robustly(Adjustment& adjustment) {
  constexpr int kRounds = 12;
  constexpr int kStepsPerRound = 3;
  constexpr double kBend = 2.0;
  for (int round = 0; round < kRounds; ++round) {
    const double limit_px = std::max(1e-6, kBend * robust_noise_px(adjustment));
    for (AdjustView& view : adjustment.views) {
      const std::vector<Eigen::Vector2d> residuals = residuals_px(adjustment.camera, view);
      for (std::size_t i = 0; i < residuals.size(); ++i) {
        view.weights[i] = std::min(1.0, limit_px / std::max(1e-12, residuals[i].norm()));
      }
    }
    const CameraModel before = adjustment.camera;
    adjust(adjustment, kStepsPerRound);
    const LensVector change = parameters(adjustment.camera) - parameters(before);
    if (round > 1 && change.head<kCoefficientsAt>().cwiseAbs().maxCoeff() < 1e-3) break;
  }
}

}  // namespace evenbevel::calibrate_detail
