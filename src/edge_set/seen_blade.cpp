#include "seen_blade.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>
#include <vector>

#include "evenbevel/fit.hpp"
#include "joint.hpp"
#include "space_curves.hpp"

namespace evenbevel::edges {
namespace {

constexpr double kAcrossU = 0.1;   // Which of a rim's borders was read.
constexpr double kPlungeMm = 3.0;  // Facets run out over their belt's radius, about (common
                                   // practice, no source).

/// How deep below the edge the flats begin.
double flats_depth_mm(const EdgeResult& result, const EdgeSettings& settings) {
  if (!result.facet_width_left_mm || !result.facet_width_right_mm) return 0.0;
  return 0.5 * (result.facet_width_left_mm->value + result.facet_width_right_mm->value) /
         std::tan(settings.facet_angle_rad);
}

using Points = std::vector<Eigen::Vector2d>;

/// A border in (s, t) where it meets the plane at this height.
Points at_height(const EdgeResult& result, Border border, const BladeDirections& blade,
                 const CameraModel& camera, double z_mm) {
  Points points;
  for (const EdgeTrace& trace : result.traces) {
    if (border_of(trace.kind) != border) continue;
    for (const Eigen::Vector2d& q_px : trace.points_px) {
      points.push_back(on_plane(camera, result, blade, q_px, z_mm));
    }
  }
  return points;
}

Stretch stretch_of(const Points& points) {
  Stretch out{std::numeric_limits<double>::infinity(), -std::numeric_limits<double>::infinity()};
  for (const Eigen::Vector2d& p : points) {
    out = {std::min(out.begin_mm, p.x()), std::max(out.end_mm, p.x())};
  }
  return out;
}

double t_at(const LineFit& line, double s_mm) {
  return line.centre.y() + std::tan(line.direction_rad) * (s_mm - line.centre.x());
}

/// (s, height) of the flats' rims, s toward the tip.
std::vector<Eigen::Vector2d> rim_heights(const Stretch& flats, const Stretch& land,
                                         double edge_height_mm, double depth_mm) {
  const double shoulder_mm = edge_height_mm - depth_mm;
  const double plunge_mm = land.begin_mm - kPlungeMm;
  if (flats.begin_mm >= plunge_mm) {
    return {{flats.begin_mm, shoulder_mm}, {flats.end_mm, shoulder_mm}};
  }
  return {{flats.begin_mm, edge_height_mm},
          {plunge_mm, edge_height_mm},
          {land.begin_mm, shoulder_mm},
          {flats.end_mm, shoulder_mm}};
}

}  // namespace

SeenBlade seen_blade(const EdgeResult& result, const CameraModel& camera,
                     const EdgeSettings& settings) {
  const BladeDirections blade = blade_directions(result, camera);
  const double depth = flats_depth_mm(result, settings);
  const double edge = result.edge_height_mm, shoulder = edge - depth;
  const Points left = at_height(result, Border::flat_left, blade, camera, shoulder);
  const Points right = at_height(result, Border::flat_right, blade, camera, shoulder);
  const LineFit left_line = fit_line_robust(left), right_line = fit_line_robust(right);
  const Stretch land = stretch_of(at_height(result, Border::inner_left, blade, camera, edge));
  const double sin = std::sin(settings.facet_angle_rad), cos = std::cos(settings.facet_angle_rad);
  SeenBlade seen{
      .middle_mm = {},
      .u_across_mm = kAcrossU,
      .u_height_mm = std::hypot(result.edge_height_u_mm, depth / (sin * cos) * kFacetAngleU_rad)};
  for (const Eigen::Vector2d& at : rim_heights(stretch_of(left), land, edge, depth)) {
    const double t = 0.5 * (t_at(left_line, at.x()) + t_at(right_line, at.x()));
    seen.middle_mm.emplace_back(blade.along * at.x() + blade.across * t + blade.up * at.y());
  }
  if (seen.middle_mm.front().x() > seen.middle_mm.back().x()) {
    std::reverse(seen.middle_mm.begin(), seen.middle_mm.end());
  }
  return seen;
}

}  // namespace evenbevel::edges
