#pragma once

#include <vector>

#include "evenbevel/camera.hpp"
#include "evenbevel/card.hpp"
#include "evenbevel/photo.hpp"
#include "evenbevel/uncertainty.hpp"

namespace evenbevel {

// A gauge of known width in the blade's place, to try the whole chain on: a gauge block, a feeler
// gauge or a piece of ground stock, clamped in the jaws with a plain flat top and sharp rims. A
// round one shows no rims: where its borders lie, and how high, depends on where the camera stands.

struct GaugeSettings {
  double width_mm = 0.0;     ///< About; borders are sought within 4 % of it.
  double height_mm = 0.0;    ///< Its top above the card's: what sets its scale.
  double height_u_mm = 0.5;  ///< By ruler.
  PrintScale print;
};

struct GaugeResult {
  Measured width_mm;        ///< Median along the gauge, of the distance between its rims.
  int places = 0;           ///< Along the gauge, 1 mm apart.
  double scatter_mm = 0.0;  ///< Of single places.
  double scale_px_per_mm = 0.0;
};

/// The rims are found and read as a blade's flats are. The nominal width says where to look, and
/// takes no part in the result.
///
/// @throws Error  No card, a blurred photo, no gauge of about that width in the card's lane, or
///                something between its rims: lines, an edge, a blade.
GaugeResult gauge_view(const Photo& photo, const CameraModel& camera,
                       const GaugeSettings& settings);

}  // namespace evenbevel
