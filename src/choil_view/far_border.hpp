#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include <Eigen/Core>

#include "fit/straight.hpp"

namespace evenbevel::choil {

// The end face's border away from the camera's foot stands against the paper, whatever the lights
// of the faces. To a camera above the edge the land behind shows over it, and there this border
// turns from the land's course into the end face's: where it does is the edge.

/// First row below the turn; 0 when there is none in the first 6 mm.
/// @param column  Of the border, a row each, from the top of all that stands before the paper.
std::size_t first_below_turn(std::span<const int> column, double row_mm);

/// The border's course below the edge found, y over depth.
/// @param border_mm  (y, down).
std::optional<Straight> course_below(std::span<const Eigen::Vector2d> border_mm,
                                     double edge_down_mm);

/// Whether the border runs on above the edge found, over `above_mm` or half a mm of it, as it does
/// below: then the end face itself goes on.
bool far_border_runs_on(std::span<const Eigen::Vector2d> border_mm, double edge_down_mm,
                        double above_mm);

}  // namespace evenbevel::choil
