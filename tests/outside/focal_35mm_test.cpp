// Focal length from the 35 mm equivalent (Exif tag 0xA405): by the diagonal of 36 x 24 mm, as CIPA
// DCG-001 defines it, or by its long side, as some makers do.

#include <cmath>

#include <gtest/gtest.h>

#include "evenbevel/camera.hpp"

namespace evenbevel {
namespace {

Photo photo_of(int width_px, int height_px, double focal_35mm) {
  Photo photo;
  photo.pixels = cv::Mat::zeros(height_px, width_px, CV_8UC1);
  photo.camera.focal_length_35mm = focal_35mm;
  return photo;
}

double u_px(const CameraModel& camera) { return std::sqrt((*camera.covariance)(0, 0)); }

// 26 mm on 4000 x 3000: 26 * 5000 / 43.2666 = 3004.6 px, or 26 * 4000 / 36 = 2888.9 px.
TEST(FocalLengthOutside, TheGuessLiesBetweenBothReadingsAndItsUncertaintyHoldsThem) {
  const CameraModel camera = guess_camera(photo_of(4000, 3000, 26.0));
  EXPECT_NEAR(camera.focal_px.x(), (3004.6 + 2888.9) / 2, 0.1);  // half of the figures' last digits
  EXPECT_LT(3004.6 - camera.focal_px.x(), u_px(camera));
  EXPECT_LT(camera.focal_px.x() - 2888.9, u_px(camera));
}

// Worked example (encyclopedias, "crop factor"): a 1/2.3 in sensor of 7.7 mm diagonal and 6.16 x
// 4.62 mm has a crop factor of 5.62; a 20 mm lens on it equals 112.4 mm.
TEST(FocalLengthOutside, ASmallSensorWithAKnownLensIsFoundWithinTheUncertainty) {
  const int width_px = 4000;
  const double true_px = 20.0 / 6.16 * width_px;
  const CameraModel camera = guess_camera(photo_of(width_px, 3000, 112.4));
  EXPECT_NEAR(camera.focal_px.x(), true_px, u_px(camera));
}

}  // namespace
}  // namespace evenbevel
