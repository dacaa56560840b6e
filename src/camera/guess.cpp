#include <algorithm>
#include <cmath>

#include "priors.hpp"

namespace evenbevel {
namespace {

constexpr double kLongSide35mm = 36.0;
constexpr double kDiagonal35mm = 43.2666;  // of 36 x 24 mm

struct FocalGuess {
  double f_px = 0.0;
  double relative_u = 0.0;
};

/// The equivalent is defined by the diagonal angle of view (CIPA DCG-001); some makers use the long
/// side.
FocalGuess from_35mm(double focal_35mm, const Photo& photo) {
  const double width = photo.pixels.cols, height = photo.pixels.rows;
  const double by_diagonal = focal_35mm * std::hypot(width, height) / kDiagonal35mm;
  const double by_long_side = focal_35mm * std::max(width, height) / kLongSide35mm;
  FocalGuess guess{0.5 * (by_diagonal + by_long_side), kByExifFocalU};
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

LensMatrix wide(const CameraModel& camera, double relative_u) {
  // Common practice, no source: what phones and USB cameras show when they are calibrated.
  constexpr double kSquareness = 0.002;
  return covariance_of(camera,
                       {.focal = relative_u,
                        .squareness = kSquareness,
                        .centre_px = {kMiddleU * camera.width_px, kMiddleU * camera.height_px}});
}

}  // namespace

CameraModel guess_camera(const Photo& photo) {
  const std::optional<double> focal_35mm = photo.camera.focal_length_35mm;
  const FocalGuess focal = focal_35mm ? from_35mm(*focal_35mm, photo) : without_35mm(photo);
  CameraModel camera;
  camera.width_px = photo.pixels.cols;
  camera.height_px = photo.pixels.rows;
  camera.focal_px.setConstant(focal.f_px);
  camera.centre_px = {0.5 * (camera.width_px - 1), 0.5 * (camera.height_px - 1)};
  camera.covariance = wide(camera, focal.relative_u);
  camera.guessed = true;
  camera.identity = photo.camera;
  return camera;
}

}  // namespace evenbevel
