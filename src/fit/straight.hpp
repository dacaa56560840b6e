#pragma once

#include <optional>
#include <span>

#include <Eigen/Core>

namespace evenbevel::choil {

/// y = value + slope x.
struct Straight {
  double value = 0.0, slope = 0.0;
};

/// Least squares in y through (x, y). Empty when all lie at one x.
std::optional<Straight> straight_through(std::span<const Eigen::Vector2d> points);

}  // namespace evenbevel::choil
