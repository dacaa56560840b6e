#include <cmath>

#include <gtest/gtest.h>

#include "evenbevel/camera.hpp"

namespace evenbevel {
namespace {

Photo photo_of(int width_px, int height_px, CameraIdentity identity) {
  Photo photo;
  photo.pixels = cv::Mat::zeros(height_px, width_px, CV_8UC1);
  photo.camera = std::move(identity);
  return photo;
}

TEST(CameraGuessClosedForm, SitsInTheMiddleWithoutDistortion) {
  const CameraModel camera = guess_camera(photo_of(400, 300, {.focal_length_35mm = 26.0}));
  EXPECT_TRUE(camera.guessed);
  EXPECT_EQ(camera.width_px, 400);
  EXPECT_EQ(camera.height_px, 300);
  EXPECT_EQ(camera.centre_px.x(), 199.5);  // pixel centres at integers
  EXPECT_EQ(camera.centre_px.y(), 149.5);
  EXPECT_EQ(camera.focal_px.x(), camera.focal_px.y());
  EXPECT_EQ(camera.lens, Lens());
}

TEST(CameraGuessClosedForm, DoesNotCareHowThePictureLies) {
  const CameraIdentity identity{.focal_length_35mm = 26.0};
  EXPECT_EQ(guess_camera(photo_of(400, 300, identity)).focal_px.x(),
            guess_camera(photo_of(300, 400, identity)).focal_px.x());
}

TEST(CameraGuessProperty, KnowsLessTheLessEXIFSays) {
  const auto relative_u = [](const CameraIdentity& identity) {
    const CameraModel camera = guess_camera(photo_of(400, 300, identity));
    return std::sqrt((*camera.covariance)(0, 0)) / camera.focal_px.x();
  };
  const double equivalent = relative_u({.make = "A", .focal_length_35mm = 26.0});
  const double zoomed = relative_u({.make = "A", .focal_length_35mm = 26.0, .digital_zoom = 1.5});
  const double named = relative_u({.make = "A"});
  const double nothing = relative_u({});
  EXPECT_LT(equivalent, named);
  EXPECT_LT(named, nothing);
  EXPECT_GT(zoomed, equivalent);
}

TEST(CameraGuessProperty, FocalLengthsMoveTogetherAndTheCovarianceIsPositive) {
  const CameraModel camera = guess_camera(photo_of(400, 300, {}));
  const auto& C = *camera.covariance;
  EXPECT_GT(C(0, 1) / std::sqrt(C(0, 0) * C(1, 1)), 0.99);
  EXPECT_LT(C(0, 1), std::sqrt(C(0, 0) * C(1, 1)));
  for (int i = 0; i < parameter_count(camera); ++i) EXPECT_GT(C(i, i), 0.0);
}

}  // namespace
}  // namespace evenbevel
