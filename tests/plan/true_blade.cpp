#include "true_blade.hpp"

#include <cmath>

#include <Eigen/Dense>

#include "seeded.hpp"

namespace evenbevel::test {
namespace {

using Eigen::Vector2d;
using enum PlanQuantity;

/// Of a direction, from the mid-plane (0, 1).
double from_mid_plane(const Vector2d& direction) {
  return std::atan2(direction.x(), direction.y());
}

/// Where the line from the origin meets the one through two points.
Vector2d crossing(const Vector2d& direction, const Vector2d& a, const Vector2d& b) {
  Eigen::Matrix2d m;
  m << direction, a - b;
  return direction * m.fullPivLu().solve(a).x();
}

}  // namespace

TrueBlade true_blade(std::mt19937_64& rng) {
  const double thick = uniform(rng, 1.5, 7.0), thin = thick * uniform(rng, 0.03, 0.3);
  const double reach = thick * uniform(rng, 2.5, 15.0), rest_of_height = uniform(rng, 0.5, 20.0);
  const Vector2d edge(thin / 2.0, 0.0), line(thick / 2.0, reach);
  const double bevel = from_mid_plane(line - edge);
  const double sharpening = bevel + uniform(rng, radians(5.0), radians(20.0));
  const Vector2d shoulder = crossing({std::sin(sharpening), std::cos(sharpening)}, edge, line);
  const double along = uniform(rng, 40.0, 300.0), tip = uniform(rng, thin + 0.05, thick - 0.05);
  const double rest = uniform(rng, 50.0, 300.0);
  // The rest, turned about its end by the bevel angle: how high the far end stands.
  const Vector2d far_end = Eigen::Rotation2Dd(bevel) * Vector2d(rest, 0.0);
  return {{stock, thick},
          {land, thin},
          {scribe_height, line.x() - edge.x()},
          {drill, thick - thin},
          {bevel_height, reach},
          {bevel_angle, bevel},
          {bevel_included, 2.0 * bevel},
          {bevel_face, (line - edge).norm()},
          {blade_height, reach + rest_of_height},
          {flat_height, rest_of_height},
          {sharpening_angle, sharpening},
          {sharpening_included, 2.0 * sharpening},
          {sharpened_width, shoulder.norm()},
          {sharpened_height, shoulder.y()},
          {shoulder_thickness, 2.0 * shoulder.x()},
          {length, along},
          {tip_thickness, tip},
          {taper, thick - tip},
          {taper_angle, from_mid_plane({(thick - tip) / 2.0, along})},
          {rest_length, rest},
          {shim, far_end.y()}};
}

std::map<PlanQuantity, double> some_of(const TrueBlade& blade, double chance,
                                       std::mt19937_64& rng) {
  std::map<PlanQuantity, double> some;
  for (const auto& [quantity, value] : blade) {
    if (uniform(rng, 0.0, 1.0) < chance) some[quantity] = value;
  }
  return some;
}

}  // namespace evenbevel::test
