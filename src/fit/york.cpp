#include <cmath>

#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"

namespace evenbevel {
namespace {

/// Weight of a point for a line of that slope: 1 / variance of y - slope x.
double point_weight(const YorkPoint& p, double slope) {
  return 1.0 / (p.u_y * p.u_y + slope * slope * p.u_x * p.u_x -
                2.0 * slope * p.correlation * p.u_x * p.u_y);
}

struct Centroid {
  double x = 0.0, y = 0.0, weight = 0.0;
};

Centroid centroid(std::span<const YorkPoint> points, double slope) {
  Centroid c;
  for (const YorkPoint& p : points) {
    const double weight = point_weight(p, slope);
    c.weight += weight;
    c.x += weight * p.x;
    c.y += weight * p.y;
  }
  c.x /= c.weight;
  c.y /= c.weight;
  return c;
}

/// Where along x the adjusted point lies, from the centroid.
double adjusted_x(const YorkPoint& p, const Centroid& c, double slope) {
  const double du = p.x - c.x, dv = p.y - c.y;
  return point_weight(p, slope) * (du * p.u_y * p.u_y + slope * dv * p.u_x * p.u_x -
                                   (slope * du + dv) * p.correlation * p.u_x * p.u_y);
}

double improved_slope(std::span<const YorkPoint> points, double slope) {
  const Centroid c = centroid(points, slope);
  double sum_xy = 0.0, sum_xx = 0.0;
  for (const YorkPoint& p : points) {
    const double moment = point_weight(p, slope) * adjusted_x(p, c, slope);
    sum_xy += moment * (p.y - c.y);
    sum_xx += moment * (p.x - c.x);
  }
  return sum_xy / sum_xx;
}

double ordinary_slope(std::span<const YorkPoint> points) {
  double x = 0.0, y = 0.0, sum_xy = 0.0, sum_xx = 0.0;
  for (const YorkPoint& p : points) {
    x += p.x / static_cast<double>(points.size());
    y += p.y / static_cast<double>(points.size());
  }
  for (const YorkPoint& p : points) {
    sum_xy += (p.x - x) * (p.y - y);
    sum_xx += (p.x - x) * (p.x - x);
  }
  if (points.size() < 3 || sum_xx <= 0.0) {
    throw Error(
        "a line has " + std::to_string(points.size()) + " points, 3 at different places are needed",
        "make more of the edge visible, then take the photo again");
  }
  return sum_xy / sum_xx;
}

}  // namespace

YorkLine fit_line_york(std::span<const YorkPoint> points) {
  double slope = ordinary_slope(points);
  for (int iteration = 0; iteration < 200; ++iteration) {
    const double before = slope;
    slope = improved_slope(points, slope);
    if (std::abs(slope - before) <= 1e-15 * std::abs(slope)) break;
  }
  const Centroid c = centroid(points, slope);
  YorkLine line{.intercept = c.y - slope * c.x, .slope = slope};
  double mean_adjusted = 0.0, sum_adjusted2 = 0.0;
  for (const YorkPoint& p : points) {
    const double weight = point_weight(p, slope);
    const double residual = p.y - line.intercept - slope * p.x;
    line.chi2 += weight * residual * residual;
    mean_adjusted += weight * (c.x + adjusted_x(p, c, slope)) / c.weight;
  }
  for (const YorkPoint& p : points) {
    const double from_mean = c.x + adjusted_x(p, c, slope) - mean_adjusted;
    sum_adjusted2 += point_weight(p, slope) * from_mean * from_mean;
  }
  const double slope_variance = 1.0 / sum_adjusted2;
  line.covariance << 1.0 / c.weight + mean_adjusted * mean_adjusted * slope_variance,
      -mean_adjusted * slope_variance, -mean_adjusted * slope_variance, slope_variance;
  line.dof = static_cast<double>(points.size()) - 2.0;
  return line;
}

}  // namespace evenbevel
