#pragma once

#include <vector>

#include "evenbevel/camera.hpp"
#include "evenbevel/card.hpp"
#include "evenbevel/photo.hpp"
#include "evenbevel/uncertainty.hpp"

namespace evenbevel {

// A gauge of known width in the blade's place, to try the whole chain on: a gauge block, a feeler
// gauge or a drill shank along the lane of the edge card.

struct GaugeSettings {
  double width_mm = 0.0;   ///< About; borders are sought within 6 % of it.
  double height_mm = 0.0;  ///< Its widest place above the card's top: what sets its scale.
  double height_u_mm = 0.2;
  PrintScale print;
};

struct GaugeResult {
  Measured width_mm;  ///< Mean along the gauge.
  std::vector<BudgetLine> budget;
  int places = 0;           ///< Along the gauge, 1 mm apart.
  double scatter_mm = 0.0;  ///< Of single places.
  double scale_px_per_mm = 0.0;
};

/// The nominal width says where to look, and takes no part in the result.
///
/// @throws Error  No card, or no gauge of about that width in its lane.
GaugeResult gauge_view(const Photo& photo, const CameraModel& camera,
                       const GaugeSettings& settings);

}  // namespace evenbevel
