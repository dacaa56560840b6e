#include "edge_end.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include <Eigen/Dense>

#include "levels_fit.hpp"

namespace evenbevel::choil {
namespace {

constexpr double kStridePx = 0.05;
constexpr double kMarginPx = 2.0;  // The end lies at least so far inside of the profile,
constexpr double kReachPx = 5.0;   // and so near to where it is expected.

struct Trial {
  double cost = 0.0;
  Eigen::Vector3d levels = Eigen::Vector3d::Zero();  ///< Paper, step, growth.
};

class Model {
 public:
  Model(std::span<const ProfileSample> samples, double blur_px)
      : samples_(samples), blur_px_(blur_px) {}

  /// Best levels for this place, with step and growth of one sign.
  Trial at(double t_px) const {
    const Trial best = solve(t_px, true, true);
    if (best.levels[1] * best.levels[2] >= 0.0) return best;
    const Trial step_only = solve(t_px, true, false), growth_only = solve(t_px, false, true);
    return step_only.cost <= growth_only.cost ? step_only : growth_only;
  }

 private:
  Trial solve(double t_px, bool with_step, bool with_growth) const {
    Eigen::Matrix3d normal = Eigen::Matrix3d::Zero();
    Eigen::Vector3d right = Eigen::Vector3d::Zero();
    double squares = 0.0;
    for (const ProfileSample& s : samples_) {
      const double t = s.t_px - t_px;
      const Eigen::Vector3d row(1.0, with_step ? -blurred_step(t, blur_px_) : 0.0,
                                with_growth ? -blurred_ramp(t, blur_px_) : 0.0);
      normal += s.weight * row * row.transpose();
      right += s.weight * s.value * row;
      squares += s.weight * s.value * s.value;
    }
    if (!with_step) normal(1, 1) = 1.0;
    if (!with_growth) normal(2, 2) = 1.0;
    normal.diagonal().array() += 1e-12 * normal.trace();
    const Eigen::Vector3d levels = normal.ldlt().solve(right);
    return {std::max(squares - levels.dot(right), 0.0), levels};
  }

  std::span<const ProfileSample> samples_;
  double blur_px_;
};

}  // namespace

std::optional<EdgeEnd> find_edge_end(std::span<const ProfileSample> samples, double blur_px) {
  if (samples.size() < 12) return std::nullopt;
  const Model model(samples, blur_px);
  const double first = std::max(samples.front().t_px + kMarginPx, -kReachPx);
  const double last = std::min(samples.back().t_px - kMarginPx, kReachPx);
  std::vector<double> costs;
  for (double t = first; t <= last; t += kStridePx) costs.push_back(model.at(t).cost);
  if (costs.size() < 3) return std::nullopt;
  const auto best = std::min_element(costs.begin(), costs.end());
  const auto i = static_cast<std::size_t>(best - costs.begin());
  if (i == 0 || i + 1 == costs.size()) return std::nullopt;
  const double bend = costs[i - 1] + costs[i + 1] - 2.0 * costs[i];
  if (!(bend > 0.0)) return std::nullopt;
  const double shift = 0.5 * (costs[i - 1] - costs[i + 1]) / bend;
  EdgeEnd end;
  end.at_px = first + kStridePx * (static_cast<double>(i) + shift);
  const Trial trial = model.at(end.at_px);
  end.step = trial.levels[1];
  end.growth = trial.levels[2];
  const double variance = trial.cost / std::max(1.0, static_cast<double>(samples.size()) - 4.0);
  end.u_px = std::sqrt(2.0 * variance / (bend / (kStridePx * kStridePx)));
  return end;
}

}  // namespace evenbevel::choil
