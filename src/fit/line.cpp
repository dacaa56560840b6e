#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

#include <Eigen/Eigenvalues>

#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"
#include "fit/tukey.hpp"

namespace evenbevel {
namespace {

using Points = std::span<const Eigen::Vector2d>;

struct PrincipalAxes {
  Eigen::Vector2d centre{};
  Eigen::Vector2d along{};
  double sum_along = 0.0, sum_across = 0.0;  ///< Weighted squares about the centre.
  double sum_weight = 0.0;
};

PrincipalAxes principal_axes(Points points, std::span<const double> weights) {
  PrincipalAxes axes;
  Eigen::Vector2d sum = Eigen::Vector2d::Zero();
  for (std::size_t i = 0; i < points.size(); ++i) {
    sum += weights[i] * (points[i] - points[0]);
    axes.sum_weight += weights[i];
  }
  axes.centre = points[0] + sum / axes.sum_weight;
  Eigen::Matrix2d scatter = Eigen::Matrix2d::Zero();
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Eigen::Vector2d d = points[i] - axes.centre;
    scatter += weights[i] * d * d.transpose();
  }
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d> solver(scatter);
  axes.along = solver.eigenvectors().col(1);
  axes.sum_along = solver.eigenvalues()(1);
  const Eigen::Vector2d across(-axes.along.y(), axes.along.x());
  for (std::size_t i = 0; i < points.size(); ++i) {  // the small eigenvalue itself is round-off
    const double distance = across.dot(points[i] - axes.centre);
    axes.sum_across += weights[i] * distance * distance;
  }
  return axes;
}

void require_line(Points points) {
  if (points.size() < 3) {
    throw Error("a line has " + std::to_string(points.size()) + " points, 3 are needed",
                "make more of the edge visible, then take the photo again");
  }
  const bool spread = std::any_of(points.begin(), points.end(),
                                  [&](const Eigen::Vector2d& p) { return p != points[0]; });
  if (!spread) {
    throw Error("all points of a line lie in one place",
                "make more of the edge visible, then take the photo again");
  }
}

double folded(double direction_rad) {
  if (direction_rad > kPi / 2.0) return direction_rad - kPi;
  if (direction_rad <= -kPi / 2.0) return direction_rad + kPi;
  return direction_rad;
}

/// @param variance  Of a point of weight 1, across the line.
LineFit line_fit(const PrincipalAxes& axes, double variance) {
  LineFit line;
  line.centre = axes.centre;
  line.direction_rad = folded(std::atan2(axes.along.y(), axes.along.x()));
  // The scatter across the line adds as much to the spread along it: take it off again.
  const double lever =
      std::max(axes.sum_along - axes.sum_across, std::numeric_limits<double>::min());
  line.covariance = Eigen::Vector2d(variance / axes.sum_weight, variance / lever).asDiagonal();
  return line;
}

std::vector<double> distances_to(Points points, const Eigen::Vector2d& centre,
                                 const Eigen::Vector2d& along) {
  const Eigen::Vector2d across(-along.y(), along.x());
  std::vector<double> distances(points.size());
  std::transform(points.begin(), points.end(), distances.begin(),
                 [&](const Eigen::Vector2d& p) { return across.dot(p - centre); });
  return distances;
}

/// The line through two points whose median distance to a sample of the points is smallest.
PrincipalAxes least_median_line(Points points) {
  constexpr int kSample = 200, kPairs = 300;  // 40 % wild: 300 pairs all fail once in 1e58
  std::vector<Eigen::Vector2d> sample;
  for (const int index : fit::spread_indices(static_cast<int>(points.size()), kSample)) {
    sample.push_back(points[static_cast<std::size_t>(index)]);
  }
  fit::SubsetPicker picker(static_cast<int>(sample.size()));
  PrincipalAxes best;
  double best_median = std::numeric_limits<double>::infinity();
  for (int pair = 0; pair < kPairs; ++pair) {
    const Eigen::Vector2d a = sample[static_cast<std::size_t>(picker.next())];
    const Eigen::Vector2d b = sample[static_cast<std::size_t>(picker.next())];
    if (a == b) continue;
    const Eigen::Vector2d along = (b - a).normalized();
    const double scatter = mad_sigma(distances_to(sample, a, along), 0.0);
    if (scatter < best_median) {
      best_median = scatter;
      best.centre = a;
      best.along = along;
    }
  }
  return best;
}

/// Smallest scatter that arithmetic can tell from zero.
double round_off(Points points) {
  double largest = 0.0;
  for (const Eigen::Vector2d& p : points) largest = std::max(largest, p.lpNorm<Eigen::Infinity>());
  return 64.0 * std::numeric_limits<double>::epsilon() * std::max(largest, 1e-100);
}

}  // namespace

Eigen::Vector2d LineFit::direction() const {
  return {std::cos(direction_rad), std::sin(direction_rad)};
}

Eigen::Vector2d LineFit::normal() const {
  return {-std::sin(direction_rad), std::cos(direction_rad)};
}

double LineFit::distance(const Eigen::Vector2d& point) const {
  return normal().dot(point - centre);
}

double LineFit::u_at(const Eigen::Vector2d& point) const {
  const Eigen::Vector2d lever(1.0, direction().dot(point - centre));
  return std::sqrt(lever.dot(covariance * lever));
}

LineFit fit_line(std::span<const Eigen::Vector2d> points) {
  require_line(points);
  const std::vector<double> weights(points.size(), 1.0);
  const PrincipalAxes axes = principal_axes(points, weights);
  const double dof = static_cast<double>(points.size()) - 2.0;
  LineFit line = line_fit(axes, axes.sum_across / dof);
  line.sigma = std::sqrt(axes.sum_across / dof);
  line.dof = dof;
  line.used = static_cast<int>(points.size());
  line.weights = weights;
  return line;
}

LineFit fit_line(std::span<const Eigen::Vector2d> points, std::span<const double> u) {
  assert(u.size() == points.size());
  require_line(points);
  std::vector<double> weights(u.size());
  std::transform(u.begin(), u.end(), weights.begin(), [](double ui) { return 1.0 / (ui * ui); });
  const PrincipalAxes axes = principal_axes(points, weights);
  LineFit line = line_fit(axes, 1.0);
  line.dof = static_cast<double>(points.size()) - 2.0;
  line.sigma = std::sqrt(axes.sum_across / line.dof);
  line.used = static_cast<int>(points.size());
  line.weights.assign(points.size(), 1.0);
  return line;
}

LineFit fit_line_robust(std::span<const Eigen::Vector2d> points) {
  require_line(points);
  PrincipalAxes axes = least_median_line(points);
  const double smallest = round_off(points);
  std::vector<double> weights(points.size()), z(points.size());
  double sigma = 0.0;
  const auto weigh = [&](bool with_new_sigma) {
    const std::vector<double> distances = distances_to(points, axes.centre, axes.along);
    if (with_new_sigma) sigma = std::max(fit::residual_sigma(distances, 2), smallest);
    std::transform(distances.begin(), distances.end(), z.begin(),
                   [&](double d) { return d / sigma; });
    std::transform(z.begin(), z.end(), weights.begin(), fit::tukey_weight);
  };
  constexpr int kScaleRounds = 5, kRounds = 30;  // then the scale stays, so that the rest converges
  for (int round = 0; round < kRounds; ++round) {
    weigh(round < kScaleRounds);
    const Eigen::Vector2d before = axes.along;
    axes = principal_axes(points, weights);
    const double turn = std::abs(before.x() * axes.along.y() - before.y() * axes.along.x());
    if (round > kScaleRounds && turn < 1e-12) break;
  }
  weigh(false);
  std::vector<double> counted(weights.size());
  std::transform(weights.begin(), weights.end(), counted.begin(),
                 [](double weight) { return weight > 0.0 ? 1.0 : 0.0; });
  const PrincipalAxes design = principal_axes(points, counted);
  LineFit line = line_fit(axes, 1.0);
  const double variance = sigma * sigma * fit::tukey_variance(z, 2);
  const double lever = std::max(design.sum_along - design.sum_across, smallest * smallest);
  line.covariance = Eigen::Vector2d(variance / design.sum_weight, variance / lever).asDiagonal();
  line.sigma = sigma;
  line.used = static_cast<int>(design.sum_weight);
  line.dof = std::max(1.0, design.sum_weight - 2.0);
  line.weights = weights;
  return line;
}

}  // namespace evenbevel
