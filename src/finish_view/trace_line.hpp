#pragma once

#include <vector>

#include "line_bank.hpp"

namespace evenbevel::finish {

/// How strong an answer begins a line, and how weak a one still goes on with it, over the face's
/// own.
inline constexpr double kBegins = 5.0, kGoesOn = 2.2;

/// A line followed through the bank's answers; px of the grid.
struct TracedLine {
  Eigen::Vector2d from{0.0, 0.0}, to{0.0, 0.0};
  Eigen::Vector2d run{1.0, 0.0};  ///< Unit vector from `from` to `to`.
  double over_noise = 0.0;        ///< Mean answer.
  double bend_px = 0.0;           ///< Sagitta of the parabola through it.
  double rough_px = 0.0;          ///< RMS about that parabola.
  int photo = 0;                  ///< Whose answers most of it are.

  double length() const { return (to - from).norm(); }
  /// From x toward z, 0 .. pi.
  double direction_rad() const;
};

/// Every line that begins somewhere, strongest first; each place of a line is used once for its
/// direction, so that lines may cross.
std::vector<TracedLine> trace_lines(const LineBank& bank);

}  // namespace evenbevel::finish
