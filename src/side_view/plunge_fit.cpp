#include "plunge_fit.hpp"

#include <algorithm>
#include <cmath>

#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"
#include "uncertainty/neighbours.hpp"

namespace evenbevel::side {
namespace {

/// Rows that share their errors, 1 mm apart: factor on u.
double alike() {
  constexpr double kRowsApartMm = 1.0;
  return std::sqrt(counted_as_one(kRowsApartMm, kPlungeSharedMm));
}

std::vector<Eigen::Vector2d> rows_between(const FaceReading& reading, double low_mm,
                                          double high_mm) {
  std::vector<Eigen::Vector2d> points;  // (z, x)
  for (const PlungeReading& row : reading.plunge) {
    if (row.seen && row.z_mm >= low_mm && row.z_mm <= high_mm)
      points.emplace_back(row.z_mm, row.x_mm);
  }
  return points;
}

std::optional<Measured> angle_of(const FaceReading& reading) {
  if (!reading.crease) return std::nullopt;
  const double edge = reading.edge.slope(reading.crease->x_mm, 8.0);
  const double edge_rad = std::isnan(edge) ? 0.0 : std::atan(edge);
  return Measured{reading.crease->lean_rad + edge_rad, reading.crease->u_lean_rad};
}

/// The arc's radius, when the picture resolves it.
std::optional<Measured> radius_of(const FaceReading& reading, double height_mm) {
  constexpr double kLeastMm = 1.5, kMostU = 0.15, kMostSigmaMm = 0.15;
  if (!reading.arc) return std::nullopt;
  const CircleFit& circle = reading.arc->circle;
  const double u = alike() * std::sqrt(circle.covariance(2, 2));
  if (circle.radius < kLeastMm || circle.radius > height_mm || u > kMostU * circle.radius ||
      circle.sigma > kMostSigmaMm)
    return std::nullopt;
  return Measured{circle.radius, u, circle.dof};
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
    return Measured{x, alike() * line.u_at({z_mm, x}) / std::cos(line.direction_rad), line.dof};
  }
  return std::nullopt;
}

PlungeFit fit_plunge(const FaceReading& reading) {
  PlungeFit fit;
  if (reading.plunge.empty() || !reading.bevel_height_mm) return fit;
  const double height = *reading.bevel_height_mm;
  fit.angle_rad = angle_of(reading);
  fit.radius_mm = radius_of(reading, height);
  return fit;
}

}  // namespace evenbevel::side
