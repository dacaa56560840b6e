#include "plunge_curve.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/Cholesky>

#include "evenbevel/error.hpp"

namespace evenbevel::side {
namespace {

constexpr double kFlatMm = 1.2, kInsideMm = 0.4;  // Windows either side of the border.
constexpr double kAlongMm = 0.2;                  // Half a reading's length along the border.
constexpr double kCurveEveryMm = 0.4;
constexpr double kFloor2 = 0.006 * 0.006;
constexpr double kMostCurveGain = 10.0;

struct Corner {
  Eigen::Vector2d at;          ///< Where crease and bevel line would cross.
  Eigen::Vector2d up, across;  ///< Along the crease; square to it, to the tip.
  double turn_rad = 0.0;

  Eigen::Vector2d centre(double radius) const {
    return at - radius * std::tan(0.5 * turn_rad) * up + radius * across;
  }
  /// On the arc, `angle` past the crease.
  Eigen::Vector2d outward(double angle) const {
    return -std::cos(angle) * across + std::sin(angle) * up;
  }
};

std::optional<Corner> corner_of(const StraightCrease& crease,
                                const std::vector<BevelReading>& bevel) {
  std::vector<Eigen::Vector2d> first;
  for (const BevelReading& reading : bevel) {
    if (reading.seen && first.size() < 16) first.emplace_back(reading.x_mm, reading.z_mm);
  }
  if (first.size() < 8) return std::nullopt;
  const LineFit line = fit_line_robust(first);
  const Eigen::Vector2d along = line.direction();
  Corner corner;
  corner.up = Eigen::Vector2d(std::sin(crease.lean_rad), std::cos(crease.lean_rad));
  corner.across = Eigen::Vector2d(corner.up.y(), -corner.up.x());
  const Eigen::Vector2d from(crease.x_mm, crease.z_mm);
  // from + s up lies on the line.
  const double s = line.normal().dot(line.centre - from) / line.normal().dot(corner.up);
  corner.at = from + s * corner.up;
  corner.turn_rad = std::acos(std::clamp(corner.up.dot(along), -1.0, 1.0));
  return corner;
}

/// Brightness along a line through `at` toward `outward`, a cell a step, from inside to outside.
std::vector<double> profile(const FaceImage& image, const Eigen::Vector2d& at,
                            const Eigen::Vector2d& outward, double inside_mm, double outside_mm) {
  const Eigen::Vector2d tangent(-outward.y(), outward.x());
  const int half = static_cast<int>(kAlongMm / image.step_mm);
  std::vector<double> values;
  for (double t = -inside_mm; t <= outside_mm; t += image.step_mm) {
    double sum = 0.0;
    for (int i = -half; i <= half; ++i) {
      const Eigen::Vector2d p = at + t * outward + i * image.step_mm * tangent;
      const double column = std::clamp(image.column(p.x()), 0.0, image.code.cols - 2.0);
      const double row = std::clamp(image.row(p.y()), 0.0, image.code.rows - 2.0);
      sum += static_cast<double>(between(image.code, column, row));
    }
    values.push_back(sum / (2 * half + 1));
  }
  return values;
}

double gain_of(const FaceImage& image, const Eigen::Vector2d& at, const Eigen::Vector2d& outward) {
  const std::vector<double> values = profile(image, at, outward, kInsideMm, kFlatMm);
  const Moments moments(values);
  const int border = static_cast<int>(kInsideMm / image.step_mm);
  return std::min(
      kMostCurveGain,
      step_of_levels(moments.window(0, border), moments.window(border + 1, moments.size()), kFloor2)
          .gain);
}

/// Mean gain along crease, arc and bevel line about the corner.
double gain_of_arc(const FaceImage& image, const Corner& corner, double radius, double reach_mm) {
  const double tangent = radius * std::tan(0.5 * corner.turn_rad);
  double sum = 0.0;
  int count = 0;
  for (double s = reach_mm; s > tangent; s -= kCurveEveryMm) {
    sum += gain_of(image, corner.at - s * corner.up, -corner.across), ++count;
  }
  const double step = kCurveEveryMm / std::max(radius, kCurveEveryMm);
  for (double angle = 0.0; angle <= corner.turn_rad; angle += step) {
    const Eigen::Vector2d outward = corner.outward(angle);
    sum += gain_of(image, corner.centre(radius) + radius * outward, outward), ++count;
  }
  return sum / std::max(1, count);
}

/// Where the border lies across the arc, if it shows.
std::optional<Eigen::Vector2d> read_across(const FaceImage& image, const Eigen::Vector2d& at,
                                           const Eigen::Vector2d& outward) {
  constexpr double kReachMm = 0.5, kLeastGain = 4.0;
  const std::vector<double> values =
      profile(image, at, outward, kInsideMm + kReachMm, kFlatMm + kReachMm);
  const Moments moments(values);
  const int inside = static_cast<int>(kInsideMm / image.step_mm);
  const int flat = static_cast<int>(kFlatMm / image.step_mm);
  double best = 0.0, sum = 0.0, mean = 0.0;
  std::vector<double> gains;
  for (int border = inside; border + flat < moments.size(); ++border) {
    gains.push_back(step_of_levels(moments.window(border - inside, border),
                                   moments.window(border, border + flat), kFloor2)
                        .gain);
    best = std::max(best, gains.back());
  }
  if (best < kLeastGain) return std::nullopt;
  for (std::size_t i = 0; i < gains.size(); ++i) {
    const double weight = std::exp(gains[i] - best);
    sum += weight, mean += weight * (inside + static_cast<double>(i) - 0.5);
  }
  const double t = mean / sum * image.step_mm - (kInsideMm + kReachMm);
  return at + t * outward;
}

/// How far the crease bows between its foot and the height `to_mm`, from a parabola through it.
double bow_mm(const std::vector<PlungeReading>& readings, double to_mm) {
  std::vector<Eigen::Vector2d> below;
  for (const PlungeReading& reading : readings) {
    if (reading.seen && reading.z_mm <= to_mm) below.emplace_back(reading.z_mm, reading.x_mm);
  }
  if (below.size() < 6) return 0.0;
  const double length = below.back().x() - below.front().x();
  const double middle = 0.5 * (below.back().x() + below.front().x());
  Eigen::Matrix3d normal = Eigen::Matrix3d::Zero();
  Eigen::Vector3d right = Eigen::Vector3d::Zero();
  for (const Eigen::Vector2d& p : below) {
    const double z = p.x() - middle;
    const Eigen::Vector3d row(1.0, z, z * z);
    normal += row * row.transpose();
    right += row * p.y();
  }
  return std::abs(normal.ldlt().solve(right).z()) * 0.25 * length * length;
}

/// Crease and bevel line as far from the circle's centre as the circle's own points.
bool touches_both(const CircleFit& circle, const Corner& corner) {
  constexpr double kMostOff = 0.15, kMostOffMm = 0.25;
  const Eigen::Vector2d from_corner = circle.centre - corner.at;
  const Eigen::Vector2d flat = -corner.outward(corner.turn_rad);
  const double most = std::max(kMostOffMm, kMostOff * circle.radius);
  return std::abs(from_corner.dot(corner.across) - circle.radius) < most &&
         std::abs(from_corner.dot(flat) - circle.radius) < most;
}

}  // namespace

std::optional<PlungeArc> find_plunge_arc(const FaceImage& image, const PlungeLine& plunge,
                                         const std::vector<BevelReading>& bevel) {
  constexpr double kLeastRadiusMm = 1.0, kStepMm = 0.25;
  constexpr double kMostBowMm =
      0.22;  // Arcs with truth bow by up to 0.19 here, a crease without one by 0.26.
  if (!plunge.straight) return std::nullopt;
  const StraightCrease& crease = *plunge.straight;
  const std::optional<Corner> corner = corner_of(crease, bevel);
  if (!corner) return std::nullopt;
  const double reach = 0.8 * (corner->at.y() - crease.z_mm) + 2.0;
  double best = 0.0, radius = 0.0;
  for (double r = 0.25; r * std::tan(0.5 * corner->turn_rad) < reach; r += kStepMm) {
    const double gain = gain_of_arc(image, *corner, r, reach);
    if (gain > best) best = gain, radius = r;
  }
  if (radius < kLeastRadiusMm) return std::nullopt;
  std::vector<Eigen::Vector2d> points;
  int places = 0;
  const double step = kCurveEveryMm / radius;
  for (double angle = 0.0; angle <= corner->turn_rad; angle += step, ++places) {
    const Eigen::Vector2d outward = corner->outward(angle);
    if (const auto p = read_across(image, corner->centre(radius) + radius * outward, outward))
      points.push_back(*p);
  }
  if (points.size() < 6 || static_cast<double>(points.size()) < 0.6 * places) return std::nullopt;
  try {
    const CircleFit circle = fit_circle_robust(points);
    if (!touches_both(circle, *corner)) return std::nullopt;
    const double arc_from_mm =
        corner->at.y() - circle.radius * std::tan(0.5 * corner->turn_rad) * corner->up.y();
    if (bow_mm(plunge.readings, arc_from_mm) > kMostBowMm) return std::nullopt;
    return PlungeArc{circle, corner->turn_rad};
  } catch (const Error&) {
    return std::nullopt;  // as good as straight
  }
}

}  // namespace evenbevel::side
