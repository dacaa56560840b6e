#pragma once

#include <optional>
#include <span>
#include <vector>

#include <Eigen/Core>

namespace evenbevel {

/// y = value + slope x.
struct Straight {
  double value = 0.0, slope = 0.0;
};

/// Least squares in y through (x, y). Empty when all lie at one x.
std::optional<Straight> straight_through(std::span<const Eigen::Vector2d> points);

/// Evenly spaced values, each by the straight line through those within `half` places of it.
std::vector<double> smoothed(std::span<const double> values, int half);

}  // namespace evenbevel
