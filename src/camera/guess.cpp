#include <algorithm>
#include <cmath>

#include "evenbevel/camera.hpp"

namespace evenbevel {
namespace {

using Covariance = Eigen::Matrix<double, CameraModel::kParameters, CameraModel::kParameters>;

constexpr double kLongSide35mm = 36.0;
constexpr double kDiagonal35mm = 43.2666;  // of 36 x 24 mm

struct FocalGuess {
  double f_px = 0.0;
  double relative_u = 0.0;
};

/// The equivalent is defined by the diagonal angle of view (CIPA DCG-001); some makers use the long
/// side. The mean of both readings is at most 2 % from either on 4:3; a whole number of mm adds as
/// much.
FocalGuess from_35mm(double focal_35mm, const Photo& photo) {
  const double width = photo.pixels.cols, height = photo.pixels.rows;
  const double by_diagonal = focal_35mm * std::hypot(width, height) / kDiagonal35mm;
  const double by_long_side = focal_35mm * std::max(width, height) / kLongSide35mm;
  FocalGuess guess{0.5 * (by_diagonal + by_long_side), 0.03};
  // Makers disagree whether the equivalent already holds the digital zoom.
  const double zoom = photo.camera.digital_zoom.value_or(1.0);
  if (zoom > 1.0) guess.relative_u = std::hypot(guess.relative_u, zoom - 1.0);
  return guess;
}

/// Common practice, no source: main cameras of phones lie at 24 to 28 mm equivalent. With no EXIF
/// at all it may as well be a USB camera, which is often narrower.
FocalGuess without_35mm(const Photo& photo) {
  const double long_side = std::max(photo.pixels.cols, photo.pixels.rows);
  const bool nameless = photo.camera.make.empty() && photo.camera.model.empty();
  if (nameless) return {0.8 * long_side, 0.15};
  return {26.0 / kLongSide35mm * long_side, 0.08};
}

/// fx and fy move together: phones have square pixels.
Covariance wide(const FocalGuess& focal, int width_px, int height_px) {
  // Common practice, no source: what phones and USB cameras show when they are calibrated.
  constexpr double kSquareness = 0.002, kCentre = 0.015;
  constexpr std::array<double, 5> kDistortion{0.08, 0.15, 0.001, 0.001, 0.08};
  Covariance covariance = Covariance::Zero();
  const double common = std::pow(focal.f_px * focal.relative_u, 2);
  const double own = std::pow(focal.f_px * kSquareness, 2);
  covariance.topLeftCorner<2, 2>() << common + own, common, common, common + own;
  covariance(2, 2) = std::pow(kCentre * width_px, 2);
  covariance(3, 3) = std::pow(kCentre * height_px, 2);
  for (std::size_t i = 0; i < kDistortion.size(); ++i) {
    const auto at = static_cast<Eigen::Index>(4 + i);
    covariance(at, at) = kDistortion[i] * kDistortion[i];
  }
  return covariance;
}

}  // namespace

CameraModel guess_camera(const Photo& photo) {
  const std::optional<double> focal_35mm = photo.camera.focal_length_35mm;
  const FocalGuess focal = focal_35mm ? from_35mm(*focal_35mm, photo) : without_35mm(photo);
  CameraModel camera;
  camera.width_px = photo.pixels.cols;
  camera.height_px = photo.pixels.rows;
  camera.fx_px = camera.fy_px = focal.f_px;
  camera.cx_px = 0.5 * (camera.width_px - 1);
  camera.cy_px = 0.5 * (camera.height_px - 1);
  camera.covariance = wide(focal, camera.width_px, camera.height_px);
  camera.guessed = true;
  camera.identity = photo.camera;
  return camera;
}

Covariance covariance_or_typical(const CameraModel& camera) {
  if (camera.covariance) return *camera.covariance;
  // Common practice, no source: a calibration from a dozen photos of a printed card.
  Covariance covariance = Covariance::Zero();
  const double common = std::pow(0.001 * camera.fx_px, 2), own = std::pow(0.0002 * camera.fx_px, 2);
  covariance.topLeftCorner<2, 2>() << common + own, common, common, common + own;
  covariance(2, 2) = covariance(3, 3) = std::pow(0.0007 * camera.width_px, 2);
  constexpr std::array<double, 5> kDistortion{0.004, 0.01, 0.0003, 0.0003, 0.01};
  for (std::size_t i = 0; i < kDistortion.size(); ++i) {
    const auto at = static_cast<Eigen::Index>(4 + i);
    covariance(at, at) = kDistortion[i] * kDistortion[i];
  }
  return covariance;
}

LensMotion lens_motion(const CameraModel& camera) {
  // A guess is wider than any motion already.
  if (camera.lens_locked || camera.guessed) return {};
  return {.focal = 0.01, .centre_px = 15.0};
}

Covariance covariance_in_photo(const CameraModel& camera) {
  const LensMotion motion = lens_motion(camera);
  Covariance covariance = covariance_or_typical(camera);
  const Eigen::Vector2d f(camera.fx_px, camera.fy_px);
  covariance.topLeftCorner<2, 2>() += motion.focal * motion.focal * f * f.transpose();
  covariance.diagonal().segment<2>(2).array() += motion.centre_px * motion.centre_px;
  return covariance;
}

}  // namespace evenbevel
