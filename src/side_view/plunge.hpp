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

/// Empty: no such crease crosses the face.
std::vector<PlungeReading> find_plunge(const FaceImage& image, const Cues& cues,
                                       const Outline& outline, const BevelPath& bevel,
                                       double length_mm);

}  // namespace evenbevel::side
