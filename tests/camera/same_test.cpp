#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/camera.hpp"
#include "evenbevel/error.hpp"

namespace evenbevel {
namespace {

using ::testing::HasSubstr;

struct Pair {
  CameraModel camera;
  Photo photo;
};

Pair matching() {
  const CameraIdentity identity{.make = "Demo Optics",
                                .model = "D1",
                                .lens = "wide",
                                .focal_length_mm = 5.6,
                                .focal_length_35mm = 25.0,
                                .digital_zoom = 1.0};
  Pair pair;
  pair.camera.width_px = 400;
  pair.camera.height_px = 300;
  pair.camera.identity = identity;
  pair.camera.file = "camera.yml";
  pair.photo.name = "blade.jpg";
  pair.photo.pixels = cv::Mat::zeros(300, 400, CV_8UC1);
  pair.photo.camera = identity;
  return pair;
}

void expect_refused(const Pair& pair, const std::string& reason) {
  try {
    require_same_camera(pair.camera, pair.photo);
    ADD_FAILURE() << "accepted: " << reason;
  } catch (const Error& error) {
    EXPECT_THAT(error.what(), HasSubstr(reason));
    EXPECT_THAT(error.what(), HasSubstr("blade.jpg"));
    EXPECT_THAT(error.what(), HasSubstr("camera.yml"));
    EXPECT_THAT(error.what(), HasSubstr("400 x 300 px"));  // of the file's camera, always
    EXPECT_FALSE(error.do_next().empty());
  }
}

TEST(SameCameraClosedForm, TheSameCameraPasses) {
  const Pair pair = matching();
  EXPECT_NO_THROW(require_same_camera(pair.camera, pair.photo));
}

TEST(SameCameraClosedForm, WhatOneSideDoesNotSayIsNotCompared) {
  Pair pair = matching();
  pair.camera.identity = {};
  EXPECT_NO_THROW(require_same_camera(pair.camera, pair.photo));
  pair = matching();
  pair.photo.camera = {};
  EXPECT_NO_THROW(require_same_camera(pair.camera, pair.photo));
}

TEST(SameCameraClosedForm, EXIFRoundingIsNotADifference) {
  Pair pair = matching();
  pair.photo.camera.focal_length_mm = 5.61;
  EXPECT_NO_THROW(require_same_camera(pair.camera, pair.photo));
}

// The focal length of a guess by EXIF is known to 3 %, its principal point to 1.5 % of the picture.
TEST(SameCameraClosedForm, OfAnUnnamedPhotosLensAsLittleIsKnownAsOfAGuess) {
  Pair pair = matching();
  pair.camera.focal_px = {310.0, 311.0};
  pair.camera.centre_px = {200.0, 150.0};
  pair.camera.lens_locked = true;
  const LensVector u = covariance_in_photo(pair.camera).diagonal().cwiseSqrt();
  const CameraModel wider = for_unnamed_photo(pair.camera);
  const LensVector wide_u = covariance_in_photo(wider).diagonal().cwiseSqrt();
  EXPECT_FALSE(names_camera({.focal_length_mm = 5.6}));
  EXPECT_TRUE(names_camera({.model = "D1"}));
  EXPECT_EQ(wider.focal_px, pair.camera.focal_px);
  EXPECT_FALSE(wider.lens_locked);
  for (const int at : {kFocalAt, kFocalAt + 1}) {
    EXPECT_LT(u(at), 0.005 * 310.0);
    EXPECT_GE(wide_u(at), 0.03 * 310.0);
  }
  EXPECT_GE(wide_u(kCentreAt), 0.015 * 400.0);
  EXPECT_GE(wide_u(kCentreAt + 1), 0.015 * 300.0);
  EXPECT_GT(wide_u(kCoefficientsAt), 5.0 * u(kCoefficientsAt));
}

// A USB camera has no EXIF, and so its file names no camera: its distortion is what was calibrated.
TEST(SameCameraClosedForm, WhereTheFileNamesNoCameraEitherTheDistortionIsHeld) {
  Pair pair = matching();
  pair.camera.focal_px = {310.0, 311.0};
  pair.camera.identity = {};
  const LensVector u = covariance_in_photo(pair.camera).diagonal().cwiseSqrt();
  const LensVector wide_u =
      covariance_in_photo(for_unnamed_photo(pair.camera)).diagonal().cwiseSqrt();
  EXPECT_GE(wide_u(kFocalAt), 0.03 * 310.0);
  EXPECT_LT(wide_u(kCoefficientsAt), 2.0 * u(kCoefficientsAt));
}

TEST(SameCameraBadInput, AnotherCameraLensOrZoomIsRefused) {
  Pair pair = matching();
  pair.photo.camera.model = "D2";
  expect_refused(pair, "another camera");
  pair = matching();
  pair.photo.camera.make = "Other";
  expect_refused(pair, "another camera");
  pair = matching();
  pair.photo.camera.lens = "tele";
  expect_refused(pair, "another lens");
  pair = matching();
  pair.photo.camera.focal_length_mm = 9.0;
  expect_refused(pair, "another lens");
  pair = matching();
  pair.photo.camera.digital_zoom = 2.0;
  expect_refused(pair, "digital zoom");
  pair = matching();
  pair.photo.camera.focal_length_35mm = 50.0;
  expect_refused(pair, "digital zoom or crop");
}

TEST(SameCameraBadInput, AnotherSizeIsRefusedWithItsLikelyCause) {
  Pair pair = matching();
  pair.photo.pixels = cv::Mat::zeros(400, 300, CV_8UC1);
  expect_refused(pair, "turned by a program");
  pair.photo.pixels = cv::Mat::zeros(150, 200, CV_8UC1);
  expect_refused(pair, "another resolution");
  pair.photo.pixels = cv::Mat::zeros(300, 390, CV_8UC1);
  expect_refused(pair, "crop");
}

TEST(SameCameraBadInput, BothCamerasAreDescribed) {
  Pair pair = matching();
  pair.photo.camera = {.make = "Other", .model = "X9", .focal_length_mm = 4.25};
  expect_refused(pair, "Demo Optics D1, lens wide, 5.6 mm (35 mm equivalent 25 mm)");
  expect_refused(pair, "Other X9, 4.25 mm, 400 x 300 px");
}

}  // namespace
}  // namespace evenbevel
