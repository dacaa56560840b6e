#pragma once

#include "evenbevel/camera.hpp"

namespace evenbevel {

/// How far a lens is known: standard uncertainties, all independent of each other but for the focal
/// lengths, which move together: cameras have nearly square pixels.
struct LensSpread {
  double focal = 0.0;       ///< Of both focal lengths together, relative.
  double squareness = 0.0;  ///< Of either one alone, relative.
  Eigen::Vector2d centre_px = Eigen::Vector2d::Zero();
  double LensCoefficient::*coefficient = &LensCoefficient::u_unknown;
};

/// Of a focal length by EXIF's 35 mm equivalent, relative: both readings of the equivalent are at
/// most 2 % from their mean on 4:3; a whole number of mm adds as much.
inline constexpr double kByExifFocalU = 0.03;
/// Of the principal point against the picture's middle, of its width and height. Common practice,
/// no source: what phones and USB cameras show when they are calibrated.
inline constexpr double kMiddleU = 0.015;

LensMatrix covariance_of(const CameraModel& camera, const LensSpread& spread);

}  // namespace evenbevel
