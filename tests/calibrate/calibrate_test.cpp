#include "evenbevel/calibrate.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/Cholesky>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "board_scene.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/units.hpp"
#include "seeded.hpp"

namespace evenbevel {

namespace {

using ::testing::HasSubstr;

const cv::Size kSize(1600, 1200);

void expect_same_camera(const CameraModel& found, const CameraModel& truth, double px,
                        double coefficient) {
  const LensVector error = parameters(found) - parameters(truth);
  EXPECT_LT(error.head<kCoefficientsAt>().cwiseAbs().maxCoeff(), px) << error.transpose();
  EXPECT_LT(error.tail(found.lens.size()).cwiseAbs().maxCoeff(), coefficient) << error.transpose();
}

std::string message_of(std::span<const CalibrationView> views) {
  try {
    calibrate(views, kSize);
  } catch (const Error& error) {
    return std::string(error.what()) + " | " + error.do_next();
  }
  return "no error";
}

std::string numbered(int i) {
  std::string text = "v";
  text += std::to_string(i);
  return text;
}

const LeftOut* find_left_out(const CalibrationResult& result, const std::string& name) {
  const auto found = std::find_if(result.left_out.begin(), result.left_out.end(),
                                  [&name](const LeftOut& out) { return out.name == name; });
  return found == result.left_out.end() ? nullptr : &*found;
}

}  // namespace

TEST(CalibrateClosedForm, NoiseFreeViewsGiveBackTheCamera) {
  for (int scene = 0; scene < 10; ++scene) {
    std::mt19937_64 rng = test::seeded("CalibrateClosedForm", scene);
    const CameraModel truth = test::true_camera();
    const auto views = test::random_views(truth, 8, 0.0, rng);
    const CalibrationResult result = calibrate(views, kSize);
    // Asked for: 1e-6. Corners are doubles of about 1000 px, so 1e-13 px each.
    expect_same_camera(result.camera, truth, 1e-6, 1e-8);
    EXPECT_LT(result.camera.rms_px.value(), 1e-8);
    EXPECT_TRUE(result.left_out.empty());
    EXPECT_EQ(result.views.size(), 8U);
  }
}

TEST(CalibrateClosedForm, PosesComeBackToo) {
  std::mt19937_64 rng = test::seeded("CalibratePoses", 0);
  const CameraModel truth = test::true_camera();
  const auto board = test::board_points(9, 6, 25.0);
  std::vector<Eigen::Isometry3d> poses;
  std::vector<CalibrationView> views;
  for (int i = 0; i < 8; ++i) {
    poses.push_back(test::random_pose(rng, 330.0));
    views.push_back(test::seen(numbered(i), truth, board, poses.back(), 0.0, rng));
  }
  const CalibrationResult result = calibrate(views, kSize);
  ASSERT_EQ(result.views.size(), 8U);
  for (std::size_t i = 0; i < 8; ++i) {
    // 1e-6 px of focal length at 330 mm is 1e-7 mm of distance.
    EXPECT_LT((result.views[i].T_camera_card.matrix.matrix() - poses[i].matrix()).norm(), 1e-6);
  }
  EXPECT_GT(result.camera.nearest_mm.value(), 250.0);
  EXPECT_LT(result.camera.farthest_mm.value(), 420.0);
}

TEST(CalibrateClosedForm, AFixedTermStaysAtZeroAndHasNoVariance) {
  std::mt19937_64 rng = test::seeded("CalibrateFixed", 0);
  CameraModel truth = test::true_camera();
  truth.lens = Lens("pinhole", {-0.11, 0.06, 0.0, 0.0, 0.0});
  const auto views = test::random_views(truth, 8, 0.0, rng);
  CalibrationSettings settings;
  settings.free = {true, true, true, true, true, true, false, false, false};
  const CalibrationResult result = calibrate(views, kSize, settings);
  expect_same_camera(result.camera, truth, 1e-6, 1e-8);
  EXPECT_EQ(result.camera.lens[4], 0.0);
  EXPECT_EQ((*result.camera.covariance)(8, 8), 0.0);
}

TEST(CalibrateProperty, StatedCovarianceIsTheSpreadOverScenes) {
  constexpr int kScenes = 200;
  const CameraModel truth = test::true_camera();
  double sum_chi2 = 0.0;
  LensVector sum_z2 = LensVector::Zero(parameter_count(truth));
  for (int scene = 0; scene < kScenes; ++scene) {
    std::mt19937_64 rng = test::seeded("CalibrateProperty", scene);
    const auto views = test::random_views(truth, 7, 0.15, rng);
    CalibrationSettings settings;
    settings.soft_distortion = false;  // the pull toward 0 is tested by itself below
    const CalibrationResult result = calibrate(views, kSize, settings);
    const LensVector error = parameters(result.camera) - parameters(truth);
    sum_chi2 += error.dot(result.camera.covariance->ldlt().solve(error));
    sum_z2 += error.cwiseAbs2().cwiseQuotient(result.camera.covariance->diagonal());
  }
  // Chi-squared of 9 degrees of freedom over 200 scenes: 9 +- 3 x sqrt(2 x 9 / 200) = 0.9; and a
  // tenth for non-linearity.
  EXPECT_NEAR(sum_chi2 / kScenes, 9.0, 1.0);
  for (int k = 0; k < sum_z2.size(); ++k) {
    // 3 / sqrt(2 x 200) = 0.15, nine times asked.
    EXPECT_NEAR(std::sqrt(sum_z2(k) / kScenes), 1.0, 0.2) << "intrinsic " << k;
  }
}

TEST(CalibrateProperty, SoftDistortionKeepsAnHonestProjectionWhereCornersWereSeen) {
  constexpr int kScenes = 60;
  const CameraModel truth = test::true_camera();
  double sum_z2 = 0.0;
  for (int scene = 0; scene < kScenes; ++scene) {
    std::mt19937_64 rng = test::seeded("CalibrateSoft", scene);
    const auto views = test::random_views(truth, 7, 0.15, rng);
    const CalibrationResult result = calibrate(views, kSize);
    const Point<Camera> p{{0.3, -0.2, 1.0}};
    LensJacobian J;
    const Eigen::Vector2d found = project(result.camera, p, nullptr, &J);
    const Eigen::Matrix2d C = J * *result.camera.covariance * J.transpose();
    const Eigen::Vector2d error = found - project(truth, p);
    sum_z2 += error.dot(C.ldlt().solve(error));
  }
  EXPECT_NEAR(sum_z2 / kScenes, 2.0, 0.8);  // 3 x sqrt(2 x 2 / 60)
}

TEST(CalibrateProperty, NoiseIsFoundAsItWasPutIn) {
  std::mt19937_64 rng = test::seeded("CalibrateNoise", 0);
  const auto views = test::random_views(test::true_camera(), 12, 0.2, rng);
  const CalibrationResult result = calibrate(views, kSize);
  EXPECT_NEAR(result.noise_px, 0.2, 0.02);  // 3 x 0.2 / sqrt(2 x 1000 coordinates) = 0.014
}

TEST(CalibrateProperty, ABadPhotoIsNamedAndLeftOut) {
  for (int scene = 0; scene < 10; ++scene) {
    std::mt19937_64 rng = test::seeded("CalibrateBadPhoto", scene);
    const CameraModel truth = test::true_camera();
    auto views = test::random_views(truth, 10, 0.1, rng);
    CameraModel zoomed = truth;  // a photo taken with another zoom: its corners look fine alone
    zoomed.focal_px *= 1.3;
    zoomed.lens = Lens("pinhole", {0.05, 0.0, 0.0, 0.0, 0.0});
    Eigen::Isometry3d pose = test::random_pose(rng, 330.0);
    pose.linear() = Eigen::AngleAxisd(0.6, Eigen::Vector3d::UnitX()).toRotationMatrix() *
                    Eigen::Vector3d(1.0, -1.0, -1.0).asDiagonal();
    pose.translation() = Eigen::Vector3d(10.0, 5.0, 330.0);
    views.insert(views.begin() + 3,
                 test::seen("zoomed.jpg", zoomed, test::board_points(9, 6, 25.0), pose, 0.1, rng));
    const CalibrationResult result = calibrate(views, kSize);
    const LeftOut* out = find_left_out(result, "zoomed.jpg");
    ASSERT_NE(out, nullptr) << "scene " << scene;
    EXPECT_EQ(out->corners, 0);
    EXPECT_THAT(out->reason, HasSubstr("its corners miss by up to "));
    EXPECT_EQ(result.views.size(), 10U);
    for (const CalibratedView& view : result.views) EXPECT_NE(view.name, "zoomed.jpg");
  }
}

TEST(CalibrateProperty, StrayCornersAreLeftOutAndTheCameraStays) {
  std::mt19937_64 rng = test::seeded("CalibrateStray", 0);
  const CameraModel truth = test::true_camera();
  auto views = test::random_views(truth, 10, 0.0, rng);
  views[2].points_px[5] += Eigen::Vector2d(3.0, -2.0);
  views[2].points_px[9] += Eigen::Vector2d(-40.0, 10.0);
  views[6].points_px[0] += Eigen::Vector2d(0.6, 0.6);
  const CalibrationResult result = calibrate(views, kSize);
  expect_same_camera(result.camera, truth, 1e-6, 1e-8);
  const LeftOut* out = find_left_out(result, views[2].name);
  ASSERT_NE(out, nullptr);
  EXPECT_EQ(out->corners, 2);
  EXPECT_EQ(out->reason, "miss by up to 41.2 px");  // hypot(40, 10)
  ASSERT_NE(find_left_out(result, views[6].name), nullptr);
  EXPECT_EQ(result.left_out.size(), 2U);
}

TEST(CalibrateProperty, CentreOnlyPhotosSayThatK3IsHeld) {
  std::mt19937_64 rng = test::seeded("CalibrateCentre", 0);
  const CameraModel truth = test::true_camera();
  std::vector<CalibrationView> views;
  const auto board = test::board_points(9, 6, 8.0);  // a small card in the middle
  for (int i = 0; i < 12; ++i) {
    Eigen::Isometry3d pose = test::random_pose(rng, 330.0);
    pose.translation() = Eigen::Vector3d(2.0, -3.0, 330.0);
    views.push_back(test::seen(numbered(i), truth, board, pose, 0.1, rng));
  }
  const CalibrationResult result = calibrate(views, kSize);
  ASSERT_FALSE(result.notes.empty());
  EXPECT_THAT(sentence(result.notes.back(), LengthUnit::mm), HasSubstr("cannot hold k3"));
  EXPECT_LT(std::abs(result.camera.lens[4]), 0.5);  // not invented
  EXPECT_GT(result.u_corners_px[0], 5.0 * result.u_centre_px);
  const std::vector<std::string> advice = sentences(result.advice, LengthUnit::mm);
  EXPECT_THAT(advice, ::testing::Contains(HasSubstr("lens model is loose")));
  EXPECT_THAT(advice, ::testing::Contains(HasSubstr("upper left corner")));
  EXPECT_THAT(advice, ::testing::Contains(HasSubstr("one distance only")));
}

TEST(CalibrateBadInput, TooFewViewsSaysHowManyAndHowManyAreNeeded) {
  std::mt19937_64 rng = test::seeded("CalibrateFew", 0);
  auto views = test::random_views(test::true_camera(), 4, 0.1, rng);
  CalibrationView scrap = views[0];
  scrap.name = "scrap.jpg";
  scrap.points_mm.resize(6);
  scrap.points_px.resize(6);
  views.push_back(scrap);
  const std::string message = message_of(views);
  EXPECT_THAT(message, HasSubstr("only 4 of 5 photos"));
  EXPECT_THAT(message, HasSubstr("5 are needed"));
  EXPECT_THAT(message, HasSubstr("scrap.jpg (6 corners, 8 are needed)"));
}

TEST(CalibrateBadInput, NoViewsAtAll) {
  EXPECT_THAT(message_of({}), HasSubstr("only 0 of 0 photos"));
}

TEST(CalibrateBadInput, TheSamePoseOverAndOver) {
  std::mt19937_64 rng = test::seeded("CalibrateSame", 0);
  const Eigen::Isometry3d pose = test::random_pose(rng, 330.0);
  std::vector<CalibrationView> views;
  for (int i = 0; i < 8; ++i) {
    views.push_back(test::seen(numbered(i), test::true_camera(), test::board_points(9, 6, 25.0),
                               pose, 0.1, rng));
  }
  EXPECT_THAT(message_of(views), HasSubstr("all photos show the card at the same pose"));
}

TEST(CalibrateBadInput, SquareOnPhotosCannotHoldTheFocalLength) {
  std::mt19937_64 rng = test::seeded("CalibrateSquareOn", 0);
  std::vector<CalibrationView> views;
  for (int i = 0; i < 8; ++i) {
    Eigen::Isometry3d pose = Eigen::Isometry3d::Identity();
    pose.linear() = Eigen::Vector3d(1.0, -1.0, -1.0).asDiagonal();
    pose.translation() = Eigen::Vector3d(4.0 * i - 16.0, 3.0 * i - 10.0, 300.0 + 12.0 * i);
    views.push_back(test::seen(numbered(i), test::true_camera(), test::board_points(9, 6, 25.0),
                               pose, 0.1, rng));
  }
  const std::string message = message_of(views);
  EXPECT_THAT(message, HasSubstr("tilt the card")) << message;
}

TEST(CalibrateBadInput, CornersOnOneLineAreNamed) {
  std::mt19937_64 rng = test::seeded("CalibrateLine", 0);
  auto views = test::random_views(test::true_camera(), 8, 0.1, rng);
  views.push_back(test::seen("line.jpg", test::true_camera(), test::board_points(9, 1, 20.0),
                             test::random_pose(rng, 330.0), 0.1, rng));
  const CalibrationResult result = calibrate(views, kSize);
  const LeftOut* out = find_left_out(result, "line.jpg");
  ASSERT_NE(out, nullptr);
  EXPECT_THAT(out->reason, HasSubstr("one line"));
}

}  // namespace evenbevel
