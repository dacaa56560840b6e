#pragma once

#include <optional>

#include "face_reading.hpp"

namespace evenbevel::side {

/// Numbers of one plunge line, blade frame; u from the readings' scatter alone.
struct PlungeFit {
  std::optional<Measured> angle_rad;  ///< Straight part against the edge's normal.
  std::optional<Measured> radius_mm;  ///< Plan of the face; empty: no arc that the picture shows.
};

/// x of the crease at a height; u from the readings' scatter.
std::optional<Measured> plunge_at(const FaceReading& reading, double z_mm);

PlungeFit fit_plunge(const FaceReading& reading);

}  // namespace evenbevel::side
