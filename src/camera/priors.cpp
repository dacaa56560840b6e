#include "priors.hpp"

#include <cmath>

namespace evenbevel {

LensMatrix covariance_of(const CameraModel& camera, const LensSpread& spread) {
  const int n = parameter_count(camera);
  LensMatrix covariance = LensMatrix::Zero(n, n);
  const double common = std::pow(spread.focal * camera.focal_px.x(), 2);
  const double own = std::pow(spread.squareness * camera.focal_px.x(), 2);
  covariance.block<2, 2>(kFocalAt, kFocalAt) << common + own, common, common, common + own;
  covariance.diagonal().segment<2>(kCentreAt) = spread.centre_px.cwiseAbs2();
  int at = kCoefficientsAt;
  for (const LensCoefficient& coefficient : camera.lens.model().coefficients()) {
    covariance(at, at) = std::pow(coefficient.*spread.coefficient, 2);
    ++at;
  }
  return covariance;
}

LensMatrix covariance_or_typical(const CameraModel& camera) {
  if (camera.covariance) return *camera.covariance;
  // Common practice, no source: a calibration from a dozen photos of a printed card.
  constexpr double kFocal = 0.001, kSquareness = 0.0002, kCentre = 0.0007;
  return covariance_of(camera, {.focal = kFocal,
                                .squareness = kSquareness,
                                .centre_px = Eigen::Vector2d::Constant(kCentre * camera.width_px),
                                .coefficient = &LensCoefficient::u_calibrated});
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

CameraModel for_unnamed_photo(const CameraModel& camera) {
  CameraModel wider = camera;
  // Where the file names no camera either (a USB camera has no EXIF), the maker's word is all there
  // can be, and the distortion is held.
  const auto distortion =
      names_camera(camera.identity) ? &LensCoefficient::u_unknown : &LensCoefficient::u_calibrated;
  wider.covariance =
      covariance_or_typical(camera) +
      covariance_of(camera, {.focal = kByExifFocalU,
                             .centre_px = {kMiddleU * camera.width_px, kMiddleU * camera.height_px},
                             .coefficient = distortion});
  wider.lens_locked = false;
  return wider;
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
