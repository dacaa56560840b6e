#pragma once

#include "evenbevel/camera.hpp"
#include "imaging.hpp"
#include "scene.hpp"

namespace evenbevel::test {

/// How the sheet is bent: part of a cylinder, not stretched, its highest line through the grid's
/// centre.
struct CardBend {
  double sag_mm = 0.0;       ///< Middle above the ends of `length_mm`; negative: the ends stand up.
  bool along = true;         ///< The length bends (axis across it); else the width.
  double length_mm = 260.0;  ///< The grid's extent in that direction.
};

/// Light of the edge card, uncut, nothing in its lane. For a camera without distortion.
/// The grid's centre stays where T_camera_card puts it.
Light render_bent_card(const CameraModel& camera, const Transform<Camera, Card>& T_camera_card,
                       const CardBend& bend);

}  // namespace evenbevel::test
