#pragma once

#include <optional>
#include <vector>

#include "bevel_line.hpp"

namespace evenbevel::side {

/// The crease where the flat begins to drop into the bevel, read row by row from the edge up; on
/// the plane of the upper face.
struct PlungeReading {
  double z_mm = 0.0, x_mm = 0.0;
  double u_mm = 0.0;
  double gain = 0.0;
  bool seen = false;
};

/// The crease's straight part: likelihood summed over all straight lines.
struct StraightCrease {
  double x_mm = 0.0, z_mm = 0.0;  ///< A point of it, at mid-height of the straight part.
  double lean_rad = 0.0;          ///< From z toward x.
  double u_x_mm = 0.0, u_lean_rad = 0.0;
};

struct PlungeLine {
  std::vector<PlungeReading> readings;  ///< Empty: no such crease crosses the face.
  std::optional<StraightCrease> straight;
};

PlungeLine find_plunge(const FaceImage& image, const Cues& cues, const Outline& outline,
                       const BevelPath& bevel, double length_mm);

}  // namespace evenbevel::side
