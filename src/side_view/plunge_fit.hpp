#pragma once

#include <optional>

#include "face_reading.hpp"

namespace evenbevel::side {

/// Numbers of one plunge line, blade frame; u from the readings' scatter alone.
struct PlungeFit {
  std::optional<Measured> angle_rad;  ///< Straight part against the edge's normal.
  std::optional<Measured> radius_mm;  ///< Plan of the face; empty: no arc that the picture shows.
  std::optional<Measured> fillet_mm;  ///< The ramp's own radius.
};

/// x of the crease at a height; u from the readings' scatter.
std::optional<Measured> plunge_at(const FaceReading& reading, double z_mm);

/// @param depth_mm  Of the bevel's foot under the flat at the edge; empty: no fillet.
PlungeFit fit_plunge(const FaceReading& reading, std::optional<double> depth_mm);

}  // namespace evenbevel::side
