#include "plunge_fit.hpp"

#include <algorithm>
#include <cmath>

#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel::side {
namespace {

constexpr double kCorrelated = 1.5;  // Neighbouring rows share their errors.

std::vector<Eigen::Vector2d> rows_between(const FaceReading& reading, double low_mm,
                                          double high_mm) {
  std::vector<Eigen::Vector2d> points;  // (z, x)
  for (const PlungeReading& row : reading.plunge) {
    if (row.seen && row.z_mm >= low_mm && row.z_mm <= high_mm)
      points.emplace_back(row.z_mm, row.x_mm);
  }
  return points;
}

std::optional<Measured> angle_of(const FaceReading& reading, double height_mm) {
  const std::vector<Eigen::Vector2d> points =
      rows_between(reading, 0.1 * height_mm, 0.7 * height_mm);
  if (points.size() < 6 || points.back().x() - points.front().x() < 0.3 * height_mm)
    return std::nullopt;
  const LineFit line = fit_line_robust(points);
  const double edge = reading.edge.slope(line.centre.y(), 8.0);
  const double edge_rad = std::isnan(edge) ? 0.0 : std::atan(edge);
  return Measured{line.direction_rad + edge_rad, kCorrelated * std::sqrt(line.covariance(1, 1)),
                  line.dof};
}

/// x = a + b z - sqrt(2 R D - D^2), D = depth (1 - z / height).
std::optional<Measured> fillet_of(const FaceReading& reading, double height_mm, double depth_mm) {
  const std::vector<Eigen::Vector2d> points =
      rows_between(reading, 0.03 * height_mm, 0.97 * height_mm);
  if (points.size() < 12 || points.back().x() < 0.85 * height_mm) return std::nullopt;
  const auto run = [&](double z, double radius, double* d_radius) {
    const double depth = std::max(0.0, depth_mm * (1.0 - z / height_mm));
    const double inside = std::max(1e-9, 2.0 * std::max(radius, depth) * depth - depth * depth);
    const double root = std::sqrt(inside);
    if (d_radius != nullptr) *d_radius = depth / std::max(root, 1e-4);
    return root;
  };
  const ResidualFunction model = [&](const Eigen::VectorXd& p, Eigen::VectorXd& residuals,
                                     Eigen::MatrixXd* jacobian) {
    for (std::size_t i = 0; i < points.size(); ++i) {
      const auto row = static_cast<Eigen::Index>(i);
      double d_radius = 0.0;
      const double z = points[i].x();
      residuals[row] = p[0] + p[1] * z - run(z, p[2], &d_radius) - points[i].y();
      if (jacobian != nullptr) jacobian->row(row) << 1.0, z, -d_radius;
    }
  };
  const Eigen::Vector3d start(points.front().y() + 3.0, 0.1, 5.0);
  const LeastSquaresFit fit = least_squares(model, start, static_cast<int>(points.size()));
  const double radius = fit.parameters[2];
  const double u = kCorrelated * std::sqrt(fit.covariance(2, 2));
  if (!fit.converged || radius < 1.2 * depth_mm || u > 0.3 * radius) return std::nullopt;
  return Measured{radius, u, fit.dof};
}

/// Circle through the crease above its straight part, if that is what it is.
std::optional<Measured> radius_of(const FaceReading& reading, double height_mm) {
  constexpr double kLeastMm = 1.5, kLeastTurnRad = 0.7, kMostU = 0.12;
  std::vector<Eigen::Vector2d> arc;
  for (const PlungeReading& row : reading.plunge) {
    if (row.seen && row.z_mm > 0.7 * height_mm) arc.emplace_back(row.x_mm, row.z_mm);
  }
  if (arc.size() < 6) return std::nullopt;
  try {
    const CircleFit circle = fit_circle_robust(arc);
    const Eigen::Vector2d first = arc.front() - circle.centre, last = arc.back() - circle.centre;
    const double turn =
        std::abs(std::atan2(first.x() * last.y() - first.y() * last.x(), first.dot(last)));
    const double u = kCorrelated * std::sqrt(circle.covariance(2, 2));
    const double noise = std::max(0.03, 0.3 / reading.look.scale_px_per_mm);
    if (circle.radius < kLeastMm || turn < kLeastTurnRad || u > kMostU * circle.radius ||
        circle.sigma > 1.5 * noise || circle.radius > height_mm)
      return std::nullopt;
    return Measured{circle.radius, u, circle.dof};
  } catch (const Error&) {
    return std::nullopt;  // as good as straight
  }
}

}  // namespace

std::optional<Measured> plunge_at(const FaceReading& reading, double z_mm) {
  constexpr double kReachMm = 2.6, kFarMm = 5.0;
  for (const double reach : {kReachMm, kFarMm}) {
    const std::vector<Eigen::Vector2d> points = rows_between(reading, z_mm - reach, z_mm + reach);
    if (points.size() < 4 || points.front().x() > z_mm || points.back().x() < z_mm) continue;
    const LineFit line = fit_line_robust(points);
    const double slope = std::tan(line.direction_rad);
    const double x = line.centre.y() + slope * (z_mm - line.centre.x());
    return Measured{x, kCorrelated * line.u_at({z_mm, x}) / std::cos(line.direction_rad), line.dof};
  }
  return std::nullopt;
}

PlungeFit fit_plunge(const FaceReading& reading, std::optional<double> depth_mm) {
  PlungeFit fit;
  if (reading.plunge.empty() || !reading.bevel_height_mm) return fit;
  const double height = *reading.bevel_height_mm;
  fit.angle_rad = angle_of(reading, height);
  fit.radius_mm = radius_of(reading, height);
  if (depth_mm && *depth_mm > 0.1) fit.fillet_mm = fillet_of(reading, height, *depth_mm);
  return fit;
}

}  // namespace evenbevel::side
