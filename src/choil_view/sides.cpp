#include "sides.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/Dense>

#include "evenbevel/fit.hpp"
#include "uncertainty/neighbours.hpp"

namespace evenbevel::choil {
namespace {

constexpr double kStray = 4.5;  // Robust standard deviations.

std::vector<double> without_strays(const std::vector<double>& residuals) {
  const double sigma = std::max(mad_sigma(residuals, median(residuals)), 1e-5);
  std::vector<double> weights;
  for (const double r : residuals) weights.push_back(std::abs(r) <= kStray * sigma ? 1.0 : 0.0);
  return weights;
}

struct Arc {
  Eigen::Vector3d p = Eigen::Vector3d::Zero();  ///< h0, turn, curvature.

  double height(double x) const {
    const double bow = std::clamp(p[2] * x, -0.95, 0.95);
    return p[0] + p[1] * x + p[2] * x * x / (1.0 + std::sqrt(1.0 - bow * bow));
  }
  Eigen::RowVector3d derivative(double x) const {
    constexpr double kStep = 1e-6;
    Arc more = *this;
    more.p[2] += kStep;
    return {1.0, x, (more.height(x) - height(x)) / kStep};
  }
};

}  // namespace

double scatter_over_u(std::span<const SidePoint> side) {
  std::vector<double> ratios;
  for (std::size_t i = 2; i + 2 < side.size(); ++i) {
    const double spacing = side[i + 1].depth_mm - side[i].depth_mm;
    const double other = side[i].depth_mm - side[i - 1].depth_mm;
    if (spacing > 1.2 * other || other > 1.2 * spacing) continue;
    // Second difference: variance 1.5 of one point's about the mean of its neighbours.
    const double off = side[i].out_mm - 0.5 * (side[i - 1].out_mm + side[i + 1].out_mm);
    const double u2 = side[i].u_mm * side[i].u_mm + 0.25 * side[i - 1].u_mm * side[i - 1].u_mm +
                      0.25 * side[i + 1].u_mm * side[i + 1].u_mm;
    if (u2 > 0.0) ratios.push_back(off / std::sqrt(u2));
  }
  if (ratios.size() < 5) return 1.5;
  return std::max(1.0, mad_sigma(ratios, 0.0));
}

std::optional<SideReading> read_side(std::span<const SidePoint> side, double depth_mm,
                                     double scatter) {
  constexpr double kLeastAboutMm = 0.45, kMostAboutMm = 0.5, kAboutShare = 0.3;
  constexpr double kNearestMm = 0.16;
  const double about = std::clamp(kAboutShare * depth_mm, kLeastAboutMm, kMostAboutMm) + 1e-6;
  std::vector<SidePoint> near;
  for (const SidePoint& p : side) {
    if (std::abs(p.depth_mm - depth_mm) <= about) near.push_back(p);
  }
  const bool here = std::any_of(near.begin(), near.end(), [&](const SidePoint& p) {
    return std::abs(p.depth_mm - depth_mm) <= kNearestMm;
  });
  if (near.size() < 2 || !here) return std::nullopt;
  if (near.size() >= 5) {
    std::vector<double> values;
    for (std::size_t i = 0; i < near.size(); ++i) {
      const double f = (near[i].depth_mm - near.front().depth_mm) /
                       (near.back().depth_mm - near.front().depth_mm);
      values.push_back(near[i].out_mm - (1.0 - f) * near.front().out_mm - f * near.back().out_mm);
    }
    const double sigma = std::max(mad_sigma(values, median(values)), 0.002);
    const double middle = median(values);
    std::vector<SidePoint> kept;
    for (std::size_t i = 0; i < near.size(); ++i) {
      if (std::abs(values[i] - middle) <= kStray * sigma) kept.push_back(near[i]);
    }
    if (kept.size() >= 3) near = kept;
  }
  double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
  for (const SidePoint& p : near) {
    const double x = p.depth_mm - depth_mm;
    n += 1;
    sx += x;
    sy += p.out_mm;
    sxx += x * x;
    sxy += x * p.out_mm;
  }
  const double det = n * sxx - sx * sx;
  if (!(det > 1e-12)) return std::nullopt;
  SideReading reading{(sxx * sy - sx * sxy) / det, (n * sxy - sx * sy) / det, 0.0};
  double variance = 0.0;
  for (const SidePoint& p : near) {
    const double weight = (sxx - sx * (p.depth_mm - depth_mm)) / det;
    variance += weight * weight * p.u_mm * p.u_mm;
  }
  reading.u_mm = scatter * std::sqrt(variance);
  return reading;
}

std::optional<SideReading> carry_to_edge(std::span<const SidePoint> width, double depth_mm,
                                         const Bend& bend, double scatter) {
  constexpr double kReachMm = 1.5, kFirstMm = 0.5, kHuber = 2.0;
  constexpr double kLeastU_mm = 0.002;  // No band is surer: light and texture differ.
  constexpr std::size_t kLeastBands = 6;
  std::vector<SidePoint> near;
  for (const SidePoint& p : width) {
    if (p.depth_mm <= kReachMm) near.push_back(p);
  }
  if (near.size() < kLeastBands || near.front().depth_mm > kFirstMm) return std::nullopt;
  const auto row_of = [&](const SidePoint& p) {
    const double x = p.depth_mm - depth_mm;
    return Eigen::Vector3d(1.0, x, 0.5 * x * x);
  };
  const auto u_of = [&](const SidePoint& p) { return scatter * std::hypot(p.u_mm, kLeastU_mm); };
  Eigen::Vector3d parabola = Eigen::Vector3d::Zero();
  Eigen::Matrix3d normal;
  std::vector<double> weights(near.size(), 1.0), off(near.size(), 0.0);
  for (int round = 0; round < 8; ++round) {
    const double known = 1.0 / (bend.u * bend.u);
    normal = Eigen::Vector3d(0.0, 0.0, known).asDiagonal();
    Eigen::Vector3d right(0.0, 0.0, known * bend.per_mm);
    for (std::size_t i = 0; i < near.size(); ++i) {
      const double weight = weights[i] / std::pow(u_of(near[i]), 2);
      normal += weight * row_of(near[i]) * row_of(near[i]).transpose();
      right += weight * near[i].out_mm * row_of(near[i]);
    }
    parabola = normal.ldlt().solve(right);
    for (std::size_t i = 0; i < near.size(); ++i) {
      off[i] = (near[i].out_mm - row_of(near[i]).dot(parabola)) / u_of(near[i]);
    }
    const double sigma = std::max(1.0, mad_sigma(off, 0.0));
    for (std::size_t i = 0; i < near.size(); ++i) {
      weights[i] = std::min(1.0, kHuber * sigma / std::max(std::abs(off[i]), 1e-9));
    }
  }
  double squares = 0.0;
  for (const double r : off) squares += r * r;
  const double misfit = std::sqrt(squares / (static_cast<double>(near.size()) - 2.0));
  const double u = std::sqrt(normal.inverse()(0, 0));
  return SideReading{parabola[0], parabola[1], block_inflation(off) * std::max(1.0, misfit) * u};
}

namespace {

/// (depth, out) of a side's points; bands are finer near the edge, and every depth counts alike.
std::vector<Eigen::Vector2d> evenly(std::span<const SidePoint> side, double from_mm, double to_mm) {
  constexpr double kApartMm = 0.19;
  std::vector<Eigen::Vector2d> points;
  for (const SidePoint& p : side) {
    if (p.depth_mm < from_mm || p.depth_mm > to_mm) continue;
    if (!points.empty() && p.depth_mm - points.back().x() < kApartMm) continue;
    points.emplace_back(p.depth_mm, p.out_mm);
  }
  return points;
}

}  // namespace

std::optional<SideFit> fit_side(std::span<const SidePoint> side, double from_mm, double to_mm) {
  const std::vector<Eigen::Vector2d> points = evenly(side, from_mm, to_mm);
  if (points.size() < 6) return std::nullopt;
  const Eigen::Vector2d middle = 0.5 * (points.front() + points.back());
  const auto rotated = [&](const Eigen::Vector2d& p, double angle) -> Eigen::Vector2d {
    const Eigen::Vector2d off = p - middle;
    return {std::cos(angle) * off.x() + std::sin(angle) * off.y(),
            -std::sin(angle) * off.x() + std::cos(angle) * off.y()};
  };
  const double chord_angle =
      std::atan2(points.back().y() - points.front().y(), points.back().x() - points.front().x());

  std::vector<double> weights(points.size(), 1.0), residuals(points.size(), 0.0);
  Arc arc;
  Eigen::Matrix3d normal;
  for (int round = 0; round < 6; ++round) {
    normal.setZero();
    Eigen::Vector3d right = Eigen::Vector3d::Zero();
    for (std::size_t i = 0; i < points.size(); ++i) {
      const Eigen::Vector2d p = rotated(points[i], chord_angle);
      const Eigen::RowVector3d row = arc.derivative(p.x());
      normal += weights[i] * row.transpose() * row;
      right += weights[i] * row.transpose() * (p.y() - arc.height(p.x()));
    }
    arc.p += normal.ldlt().solve(right);
    for (std::size_t i = 0; i < points.size(); ++i) {
      const Eigen::Vector2d p = rotated(points[i], chord_angle);
      residuals[i] = p.y() - arc.height(p.x());
    }
    weights = without_strays(residuals);
  }
  double squares = 0.0, used = 0.0, sx = 0.0, sy = 0.0, sxx = 0.0, sxy = 0.0;
  std::vector<double> kept;
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (weights[i] == 0.0) continue;
    squares += residuals[i] * residuals[i];
    used += 1.0;
    kept.push_back(residuals[i]);
    const double x = points[i].x() - middle.x(), y = points[i].y() - middle.y();
    sx += x;
    sy += y;
    sxx += x * x;
    sxy += x * y;
  }
  if (used < 6.0) return std::nullopt;
  const double det = used * sxx - sx * sx;
  const double shared = block_inflation(kept);
  SideFit fit;
  fit.dof = used - 3.0;
  fit.scatter_mm = std::sqrt(squares / fit.dof);
  fit.angle_rad = std::atan((used * sxy - sx * sy) / det);
  fit.u_angle_rad = shared * fit.scatter_mm * std::sqrt(used / det);
  fit.curvature_per_mm = arc.p[2];
  fit.u_curvature = shared * fit.scatter_mm * std::sqrt(normal.inverse()(2, 2));
  fit.chord_mm = (points.back() - points.front()).norm();
  return fit;
}

}  // namespace evenbevel::choil
