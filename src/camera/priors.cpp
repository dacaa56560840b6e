#include <cmath>

#include "evenbevel/camera.hpp"

namespace evenbevel {

LensMatrix covariance_or_typical(const CameraModel& camera) {
  if (camera.covariance) return *camera.covariance;
  // Common practice, no source: a calibration from a dozen photos of a printed card.
  constexpr double kFocal = 0.001, kSquareness = 0.0002, kCentre = 0.0007;
  const int n = parameter_count(camera);
  LensMatrix covariance = LensMatrix::Zero(n, n);
  const double common = std::pow(kFocal * camera.focal_px.x(), 2);
  const double own = std::pow(kSquareness * camera.focal_px.x(), 2);
  covariance.block<2, 2>(kFocalAt, kFocalAt) << common + own, common, common, common + own;
  covariance.diagonal().segment<2>(kCentreAt).setConstant(std::pow(kCentre * camera.width_px, 2));
  int at = kCoefficientsAt;
  for (const LensCoefficient& coefficient : camera.lens.model().coefficients()) {
    covariance(at, at) = coefficient.u_calibrated * coefficient.u_calibrated;
    ++at;
  }
  return covariance;
}

LensMotion lens_motion(const CameraModel& camera) {
  // A guess is wider than any motion already.
  if (camera.lens_locked || camera.guessed) return {};
  return {.focal = 0.01, .centre_px = 15.0};
}

LensMatrix covariance_in_photo(const CameraModel& camera) {
  const LensMotion motion = lens_motion(camera);
  LensMatrix covariance = covariance_or_typical(camera);
  covariance.block<2, 2>(kFocalAt, kFocalAt) +=
      motion.focal * motion.focal * camera.focal_px * camera.focal_px.transpose();
  covariance.diagonal().segment<2>(kCentreAt).array() += motion.centre_px * motion.centre_px;
  return covariance;
}

LensMatrix covariance_of_any_lens(const CameraModel& camera) {
  constexpr double kFocal = 0.2, kCentre = 0.08;  // Common practice, no source.
  LensMatrix covariance = covariance_or_typical(camera);
  covariance.block<2, 2>(kFocalAt, kFocalAt) +=
      kFocal * kFocal * camera.focal_px * camera.focal_px.transpose();
  covariance.diagonal().segment<2>(kCentreAt).array() += std::pow(kCentre * camera.width_px, 2);
  int at = kCoefficientsAt;
  for (const LensCoefficient& coefficient : camera.lens.model().coefficients()) {
    covariance(at, at) += coefficient.u_unknown * coefficient.u_unknown;
    ++at;
  }
  return covariance;
}

}  // namespace evenbevel
