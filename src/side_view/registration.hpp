#pragma once

#include "face_reading.hpp"

namespace evenbevel::side {

/// The same reading in a frame turned and shifted: p' = R(turn) p + shift.
FaceReading in_frame(const FaceReading& reading, double turn_rad, const Eigen::Vector2d& shift_mm);

struct Registration {
  double turn_rad = 0.0;  ///< p_left = R(turn) p_right + shift.
  Eigen::Vector2d shift_mm = Eigen::Vector2d::Zero();
  OutlineFit fit;
  double middle_x_mm = 0.0;  ///< About which turn and shift are uncorrelated.
};

/// Lays the right face's outline over the left one's: rigid, robust, distances across the outline.
/// @throws Error  The outlines are those of two different knives.
Registration register_outlines(const FaceReading& left, const FaceReading& right);

}  // namespace evenbevel::side
