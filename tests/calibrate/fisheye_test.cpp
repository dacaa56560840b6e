#include <cmath>

#include <Eigen/Cholesky>
#include <gtest/gtest.h>

#include "board_scene.hpp"
#include "evenbevel/calibrate.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

const cv::Size kFisheyeSize(1600, 1200);
constexpr test::Distances kNearBy{.nearest_mm = 110.0, .farthest_mm = 220.0};

CalibrationSettings for_fisheye() {
  CalibrationSettings settings;
  settings.lens = find_lens_model("fisheye");
  return settings;
}

TEST(CalibrateFisheyeClosedForm, NoiseFreeViewsGiveBackTheCamera) {
  for (int scene = 0; scene < 4; ++scene) {
    std::mt19937_64 rng = test::seeded("CalibrateFisheyeClosedForm", scene);
    const CameraModel truth = test::fisheye_camera();
    const auto views = test::random_views(truth, 8, 0.0, rng, kNearBy);
    const CalibrationResult result = calibrate(views, kFisheyeSize, for_fisheye());
    const LensVector error = parameters(result.camera) - parameters(truth);
    EXPECT_LT(error.head<kCoefficientsAt>().cwiseAbs().maxCoeff(), 1e-6) << error.transpose();
    EXPECT_LT(error.tail(4).cwiseAbs().maxCoeff(), 1e-8) << error.transpose();
    EXPECT_TRUE(result.left_out.empty());
  }
}

TEST(CalibrateFisheyeProperty, StatedCovarianceIsTheSpreadOverScenes) {
  constexpr int kScenes = 60;
  const CameraModel truth = test::fisheye_camera();
  double sum_chi2 = 0.0;
  for (int scene = 0; scene < kScenes; ++scene) {
    std::mt19937_64 rng = test::seeded("CalibrateFisheyeProperty", scene);
    CalibrationSettings settings = for_fisheye();
    settings.soft_distortion = false;
    const CalibrationResult result =
        calibrate(test::random_views(truth, 7, 0.15, rng, kNearBy), kFisheyeSize, settings);
    const LensVector error = parameters(result.camera) - parameters(truth);
    sum_chi2 += error.dot(result.camera.covariance->ldlt().solve(error));
  }
  // Chi-squared of 8 degrees of freedom: 3 x sqrt(2 x 8 / 60) = 1.55, and a tenth for
  // non-linearity.
  EXPECT_NEAR(sum_chi2 / kScenes, 8.0, 1.65);
}

// What the help says: a pinhole's coefficients do not follow such a lens.
TEST(CalibrateFisheyeProperty, APinholeLeavesFarLargerMisses) {
  std::mt19937_64 rng = test::seeded("CalibrateFisheyeAsPinhole", 0);
  const auto views = test::random_views(test::fisheye_camera(), 12, 0.15, rng, kNearBy);
  const CalibrationResult fisheye = calibrate(views, kFisheyeSize, for_fisheye());
  CalibrationSettings as_pinhole;
  as_pinhole.leave_out = false;
  const CalibrationResult pinhole = calibrate(views, kFisheyeSize, as_pinhole);
  EXPECT_LT(*fisheye.camera.rms_px, 0.25);
  EXPECT_GT(*pinhole.camera.rms_px, 3.0 * *fisheye.camera.rms_px);
}

}  // namespace
}  // namespace evenbevel
