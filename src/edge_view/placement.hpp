#pragma once

#include <optional>
#include <vector>

#include "blade_reading.hpp"
#include "metric.hpp"

namespace evenbevel::edge {

// Third step: what was read, brought to the blade: s to the tip, t to the left face, in one plane.

struct Placement {
  StripFrame plane;       ///< The lane's directions: s to the right of the card.
  bool mirrored = false;  ///< The tip points to the left: s and t have changed sign.
  std::vector<BandReadings> bands;
  PlungeLines plunges;  ///< As they lie in the plane, not mirrored.
  CameraPlace camera;
  MetricSettings settings;
  Metric metric;

  double sign() const { return mirrored ? -1.0 : 1.0; }
};

/// Where the camera stands in the frame's plane.
CameraPlace camera_place(const StripFrame& frame, const CardPose& pose, bool mirrored);

/// @throws Error  Too few readings.
Placement place_blade(const LanePicture& lane, const Located& at, const BladeReading& read,
                      const CardPose& pose, Tip tip, const FlatsDoubt& doubt,
                      const EdgeSettings& settings);

/// The same readings as another camera or plane would have shown them.
Metric seen_otherwise(const Placement& placed, const StripFrame& frame, const CardPose& pose);

}  // namespace evenbevel::edge
