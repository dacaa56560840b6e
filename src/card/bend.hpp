#pragma once

#include "evenbevel/card.hpp"
#include "plane_pose.hpp"

namespace evenbevel {

/// How far the card is from flat.
struct Bend {
  double height_mm = 0.0;  ///< Highest minus lowest of the bent sheet over the corners seen,
                           ///< after the best plane is taken away.
  double u_mm = 0.0;       ///< From the corners' scatter and the camera's covariance.
  bool middle_up = false;  ///< The middle stands up; else the ends or corners do.
};

/// Bends the sheet by z = a x^2 + b x y + c y^2 and looks how much of that the misses ask for,
/// with the pose free and the camera free within its covariance (a lens's distortion and a bent
/// sheet seen square on look alike).
///
/// @param T_camera_card  The robust pose of the flat card.
/// @pre At least 8 sightings.
Bend measure_bend(const CameraModel& camera, const std::vector<CardSighting>& sightings,
                  const Transform<Camera, Card>& T_camera_card);

/// Too far from flat, and surely so.
bool is_bent(const Bend& bend);

/// @throws Error  The card is bent.
void require_flat(CardKind kind, const Bend& bend, std::size_t corners);

}  // namespace evenbevel
