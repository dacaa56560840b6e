#include <gtest/gtest.h>

#include "board_scene.hpp"
#include "evenbevel/calibrate.hpp"
#include "seeded.hpp"

namespace evenbevel {

namespace {

using Answer = FramePicker::Answer;

const cv::Size kPickerSize(1600, 1200);

Eigen::Isometry3d pose_at(double x_mm, double z_mm, double tilt_rad) {
  Eigen::Isometry3d pose = Eigen::Isometry3d::Identity();
  pose.linear() = Eigen::AngleAxisd(tilt_rad, Eigen::Vector3d::UnitX()).toRotationMatrix() *
                  Eigen::Vector3d(1.0, -1.0, -1.0).asDiagonal();
  pose.translation() = Eigen::Vector3d(x_mm, 0.0, z_mm);
  return pose;
}

CalibrationView view_at(double x_mm, double z_mm, double tilt_rad) {
  std::mt19937_64 rng = test::seeded("Picker", 0);
  return test::seen("frame", test::true_camera(), test::board_points(9, 6, 20.0),
                    pose_at(x_mm, z_mm, tilt_rad), 0.05, rng);
}

}  // namespace

TEST(FramePickerProperty, TheSameViewIsTakenOnce) {
  FramePicker picker(kPickerSize);
  EXPECT_EQ(picker.offer(view_at(0.0, 300.0, 0.0)), Answer::taken);
  EXPECT_EQ(picker.offer(view_at(0.0, 300.0, 0.0)), Answer::nothing_new);
  EXPECT_EQ(picker.taken().size(), 1U);
}

TEST(FramePickerProperty, AnotherPlaceTiltOrDistanceIsTaken) {
  FramePicker picker(kPickerSize);
  EXPECT_EQ(picker.offer(view_at(0.0, 300.0, 0.0)), Answer::taken);
  EXPECT_EQ(picker.offer(view_at(90.0, 300.0, 0.0)), Answer::taken);
  EXPECT_EQ(picker.offer(view_at(0.0, 300.0, 0.7)), Answer::taken);
  picker.offer(CalibrationView{});  // the card was out of view: no movement to compare with
  EXPECT_EQ(picker.offer(view_at(0.0, 430.0, 0.0)), Answer::taken);
}

TEST(FramePickerProperty, AMovingCardIsNotTakenUntilItRests) {
  FramePicker picker(kPickerSize);
  EXPECT_EQ(picker.offer(view_at(0.0, 300.0, 0.0)), Answer::taken);
  // 1 mm a frame at 300 mm is 4.4 px: more than 1.6 px, a thousandth of the width.
  for (int i = 1; i <= 90; ++i) EXPECT_EQ(picker.offer(view_at(i, 300.0, 0.0)), Answer::moving);
  EXPECT_EQ(picker.offer(view_at(90.0, 300.0, 0.0)), Answer::taken);
}

TEST(FramePickerProperty, FramesWithoutACardAreNoView) {
  FramePicker picker(kPickerSize);
  EXPECT_EQ(picker.offer(CalibrationView{}), Answer::nothing_new);
  EXPECT_TRUE(picker.taken().empty());
}

TEST(FramePickerProperty, CoverageCountsEveryCornerOfTheViewsTaken) {
  FramePicker picker(kPickerSize);
  const CalibrationView view = view_at(0.0, 300.0, 0.0);
  picker.offer(view);
  picker.offer(view);
  int corners = 0;
  for (const int n : picker.coverage().corners) corners += n;
  EXPECT_EQ(corners, static_cast<int>(view.points_px.size()));
}

TEST(CalibrationCoverageClosedForm, CornersOfThePictureFallIntoItsCornerCells) {
  CalibrationCoverage coverage;
  const Eigen::Vector2d points[] = {{-0.5, -0.5}, {1599.4, 0.0}, {0.0, 1199.4}, {1599.4, 1199.4}};
  add_coverage(coverage, points, kPickerSize);
  constexpr std::size_t kLastRow = 5 * 9;
  for (const std::size_t cell : {std::size_t{0}, std::size_t{8}, kLastRow, kLastRow + 8}) {
    EXPECT_EQ(coverage.corners[cell], 1) << cell;
  }
  EXPECT_DOUBLE_EQ(coverage.share(), 4.0 / 54.0);
}

}  // namespace evenbevel
