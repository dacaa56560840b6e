#include "edge_end.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include <Eigen/Dense>

#include "border/levels_fit.hpp"

namespace evenbevel::choil {
namespace {

constexpr double kStridePx = 0.05;
constexpr double kMarginPx = 2.0;  // The end lies at least so far inside of the profile.

using Levels = Eigen::Vector4d;  // Paper, step, growth, and the step where the land behind shows.

struct Trial {
  double cost = 0.0;
  Levels levels = Levels::Zero();
};

/// Which of the four levels are free.
using Free = std::array<bool, 4>;

class Model {
 public:
  Model(std::span<const ProfileSample> samples, double blur_px)
      : samples_(samples), blur_px_(blur_px) {}

  /// Best levels for this place, with step and growth of one sign.
  Trial at(double t_px) const {
    const Trial best = solve(t_px, 0.0, {true, true, true, false});
    if (best.levels[1] * best.levels[2] >= 0.0) return best;
    const Trial step_only = solve(t_px, 0.0, {true, true, false, false});
    const Trial growth_only = solve(t_px, 0.0, {true, false, true, false});
    return step_only.cost <= growth_only.cost ? step_only : growth_only;
  }

  /// The same with what lies behind showing from `above_px` above this place.
  Trial at(double t_px, double above_px) const {
    return solve(t_px, above_px, {true, true, true, true});
  }

 private:
  Trial solve(double t_px, double above_px, const Free& free) const {
    Eigen::Matrix4d normal = Eigen::Matrix4d::Zero();
    Levels right = Levels::Zero();
    double squares = 0.0;
    for (const ProfileSample& s : samples_) {
      const double t = s.t_px - t_px;
      const Levels row(1.0, free[1] ? -blurred_step(t, blur_px_) : 0.0,
                       free[2] ? -blurred_ramp(t, blur_px_) : 0.0,
                       free[3] ? -blurred_step(t + above_px, blur_px_) : 0.0);
      normal += s.weight * row * row.transpose();
      right += s.weight * s.value * row;
      squares += s.weight * s.value * s.value;
    }
    for (int i = 0; i < 4; ++i) {
      if (!free[static_cast<std::size_t>(i)]) normal(i, i) = 1.0;
    }
    normal.diagonal().array() += 1e-12 * normal.trace();
    const Levels levels = normal.ldlt().solve(right);
    return {std::max(squares - levels.dot(right), 0.0), levels};
  }

  std::span<const ProfileSample> samples_;
  double blur_px_;
};

struct Place {
  double t_px = 0.0, above_px = 0.0;
  Trial trial;
};

Place best_single(const Model& model, double first, double last) {
  Place best{first, 0.0, model.at(first)};
  for (double t = first + kStridePx; t <= last; t += kStridePx) {
    const Trial trial = model.at(t);
    if (trial.cost < best.trial.cost) best = {t, 0.0, trial};
  }
  return best;
}

/// Coarsely, then finely about the best.
Place best_double(const Model& model, double first, double last, double least_above_px) {
  constexpr double kCoarsePx = 0.5, kMostAbovePx = 14.0;
  Place best{first, least_above_px, model.at(first, least_above_px)};
  const auto search = [&](double low, double high, double above_low, double above_high,
                          double stride) {
    for (double t = low; t <= high; t += stride) {
      for (double above = above_low; above <= above_high; above += stride) {
        const Trial trial = model.at(t, above);
        if (trial.cost < best.trial.cost) best = {t, above, trial};
      }
    }
  };
  search(first, last, least_above_px, kMostAbovePx, kCoarsePx);
  const Place coarse = best;
  search(std::max(first, coarse.t_px - kCoarsePx), std::min(last, coarse.t_px + kCoarsePx),
         std::max(least_above_px, coarse.above_px - kCoarsePx), coarse.above_px + kCoarsePx,
         2.0 * kStridePx);
  return best;
}

/// Two steps tell more than one: by far the better fit, and each a step worth the name.
bool worth_two(const Place& one, const Place& two, std::span<const ProfileSample> samples) {
  constexpr double kBetter = 0.5, kLeastStep = 0.08;
  constexpr double kShapeError = 0.01;  // Of the step: what no model of ours describes.
  const double behind = two.trial.levels[3], own = two.trial.levels[1];
  const double all = std::abs(behind + own);
  double weights = 0.0;
  for (const ProfileSample& sample : samples) weights += sample.weight;
  const double floor = weights * std::pow(kShapeError * all, 2);
  return two.trial.cost + floor < kBetter * (one.trial.cost + floor) &&
         std::abs(behind) > kLeastStep * all && std::abs(own) > kLeastStep * all;
}

}  // namespace

std::optional<EdgeEnd> find_edge_end(std::span<const ProfileSample> samples, double blur_px,
                                     double reach_px, bool land_may_show) {
  if (samples.size() < 12) return std::nullopt;
  const Model model(samples, blur_px);
  const double first = std::max(samples.front().t_px + kMarginPx, -reach_px);
  const double last = std::min(samples.back().t_px - kMarginPx, reach_px);
  if (last - first < 3.0 * kStridePx) return std::nullopt;
  Place best = best_single(model, first, last);
  if (land_may_show) {
    const Place two = best_double(model, first, last, std::max(1.0, 1.2 * blur_px));
    if (worth_two(best, two, samples)) best = two;
  }

  const auto cost = [&](double t) {
    return best.above_px > 0.0 ? model.at(t, best.above_px).cost : model.at(t).cost;
  };
  if (best.t_px <= first || best.t_px + kStridePx > last) return std::nullopt;
  const double before = cost(best.t_px - kStridePx), after = cost(best.t_px + kStridePx);
  const double bend = before + after - 2.0 * best.trial.cost;
  if (!(bend > 0.0)) return std::nullopt;
  EdgeEnd end;
  end.at_px = best.t_px + kStridePx * std::clamp(0.5 * (before - after) / bend, -1.0, 1.0);
  end.step = best.trial.levels[1];
  end.growth = best.trial.levels[2];
  end.above_px = best.above_px;
  const double variance =
      best.trial.cost / std::max(1.0, static_cast<double>(samples.size()) - 4.0);
  end.u_px = std::sqrt(2.0 * variance / (bend / (kStridePx * kStridePx)));
  return end;
}

}  // namespace evenbevel::choil
