#include <cmath>
#include <fstream>
#include <iomanip>
#include <sstream>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "evenbevel/calibrate.hpp"

namespace evenbevel {

namespace {

constexpr int kViews = 5;
constexpr double kPitchIn = 0.888889;
constexpr double kSquareIn = 0.5;

/// As the author's model file has it.
double six_figures(double value) {
  std::ostringstream text;
  text << std::setprecision(6) << value;
  return std::stod(text.str());
}

std::vector<Eigen::Vector2d> model_points() {
  std::vector<Eigen::Vector2d> points;
  for (int row = 0; row < 8; ++row) {
    for (int column = 0; column < 8; ++column) {
      const double left = six_figures(column * kPitchIn);
      const double right = six_figures(column * kPitchIn + kSquareIn);
      const double top = six_figures(-row * kPitchIn);
      const double bottom = six_figures(-row * kPitchIn - kSquareIn);
      points.emplace_back(left, bottom);
      points.emplace_back(right, bottom);
      points.emplace_back(right, top);
      points.emplace_back(left, top);
    }
  }
  return points;
}

std::vector<CalibrationView> zhang_views() {
  std::vector<CalibrationView> views(kViews);
  for (int v = 0; v < kViews; ++v) {
    views[static_cast<std::size_t>(v)].name = "view " + std::to_string(v + 1);
    views[static_cast<std::size_t>(v)].points_mm = model_points();
  }
  std::ifstream in(EVENBEVEL_OUTSIDE_DATA "/zhang_views.txt");
  std::string line;
  while (std::getline(in, line)) {
    if (line.empty() || line[0] == '#') continue;
    std::istringstream numbers(line);
    for (CalibrationView& view : views) {
      Eigen::Vector2d q;
      numbers >> q.x() >> q.y();
      view.points_px.push_back(q);
    }
  }
  return views;
}

CalibrationSettings two_radial_terms() {
  CalibrationSettings settings;
  settings.free = {true, true, true, true, true, true, false, false, false};
  settings.leave_out = false;
  settings.soft_distortion = false;
  return settings;
}

}  // namespace

// Z. Zhang, IEEE PAMI 22 (2000) 1330-1334: sums of the published image points, before rounding.
TEST(CalibrateOutside, ZhangsPointsAreTheOnesPublished) {
  const double sums[kViews][2] = {{71631.139, 59273.899},
                                  {72337.405, 60698.125},
                                  {83629.727, 59833.101},
                                  {76542.130, 59726.850},
                                  {74962.322, 60600.095}};
  const auto views = zhang_views();
  for (std::size_t v = 0; v < kViews; ++v) {
    ASSERT_EQ(views[v].points_px.size(), 256U);
    Eigen::Vector2d sum = Eigen::Vector2d::Zero();
    for (const Eigen::Vector2d& q : views[v].points_px) sum += q;
    // 256 roundings of at most 0.0005 px, standard deviation 0.00029 x 16 = 0.005; five of them.
    EXPECT_NEAR(sum.x(), sums[v][0], 0.025);
    EXPECT_NEAR(sum.y(), sums[v][1], 0.025);
  }
}

// The published solution has skew (gamma 0.2045, standard deviation 0.078), our model has none.
// The same points without skew, by cv::calibrateCamera (OpenCV 4.6): fx 832.2069, fy 832.2425,
// cx 304.0683, cy 206.3724, k1 -0.228531, k2 0.191011, RMS 0.336889.
TEST(CalibrateOutside, ZhangsFiveViewsWithoutSkew) {
  const CalibrationResult result = calibrate(zhang_views(), cv::Size(640, 480), two_radial_terms());
  // Our file has the points to 0.001 px: that moves the intrinsics by up to 0.002 px.
  EXPECT_NEAR(result.camera.focal_px.x(), 832.2069, 0.003);
  EXPECT_NEAR(result.camera.focal_px.y(), 832.2425, 0.003);
  EXPECT_NEAR(result.camera.centre_px.x(), 304.0683, 0.003);
  EXPECT_NEAR(result.camera.centre_px.y(), 206.3724, 0.003);
  EXPECT_NEAR(result.camera.lens[0], -0.228531, 2e-5);
  EXPECT_NEAR(result.camera.lens[1], 0.191011, 1e-4);
  EXPECT_NEAR(result.camera.rms_px.value(), 0.336889, 1e-5);
  const double per_view[kViews] = {0.3478, 0.2330, 0.5406, 0.2365, 0.2097};
  for (std::size_t v = 0; v < kViews; ++v) {
    EXPECT_NEAR(result.views[v].rms_px, per_view[v], 1e-4);  // the last digit
  }
}

// Z. Zhang's published result: alpha 832.5, beta 832.53, u0 303.959, v0 206.585, k1 -0.228601,
// k2 0.190353. Leaving out his skew of 2.6 standard deviations must not move anything by more
// than one of our stated ones.
TEST(CalibrateOutside, ZhangsPublishedIntrinsicsLieWithinTheStatedUncertainty) {
  const CalibrationResult result = calibrate(zhang_views(), cv::Size(640, 480), two_radial_terms());
  const CameraModel& camera = result.camera;
  const double published[] = {832.5, 832.53, 303.959, 206.585, -0.228601, 0.190353};
  const double found[] = {camera.focal_px.x(),  camera.focal_px.y(), camera.centre_px.x(),
                          camera.centre_px.y(), camera.lens[0],      camera.lens[1]};
  for (int k = 0; k < 6; ++k) {
    EXPECT_NEAR(found[k], published[k], std::sqrt((*camera.covariance)(k, k))) << k;
  }
  // Standard deviations of the published solution, recomputed with its own least squares: 1.407,
  // 1.386, 0.712, 0.659, 0.0041, 0.0249. Dropping skew takes a few per cent off at most.
  const double spread[] = {1.407, 1.386, 0.712, 0.659, 0.0041, 0.0249};
  for (int k = 0; k < 6; ++k) {
    EXPECT_NEAR(std::sqrt((*camera.covariance)(k, k)), spread[k], 0.05 * spread[k]) << k;
  }
}

// His pose of view 1: t = (-3.84019, 3.65164, 12.791) in.
TEST(CalibrateOutside, ZhangsPublishedPoseOfTheFirstView) {
  const CalibrationResult result = calibrate(zhang_views(), cv::Size(640, 480), two_radial_terms());
  const Eigen::Isometry3d& pose = result.views[0].T_camera_card.matrix;
  // The principal point differs by 0.23 px for want of skew: 0.23 / 832 x 12.8 in = 0.0035 in; the
  // focal length by 0.035 %: 0.0045 in.
  EXPECT_NEAR(pose.translation().x(), -3.84019, 0.006);
  EXPECT_NEAR(pose.translation().y(), 3.65164, 0.006);
  EXPECT_NEAR(pose.translation().z(), 12.791, 0.008);
  EXPECT_NEAR(pose.linear()(0, 0), 0.992759, 0.0005);  // 0.23 px over the board's 300 px
  EXPECT_NEAR(pose.linear()(2, 0), -0.11931, 0.001);
}

}  // namespace evenbevel
