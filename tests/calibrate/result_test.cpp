#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "board_scene.hpp"
#include "evenbevel/calibrate.hpp"
#include "evenbevel/error.hpp"
#include "scratch_folder.hpp"
#include "seeded.hpp"

namespace evenbevel {

namespace {

using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::Not;

const cv::Size kResultSize(1600, 1200);

CalibrationResult good_result() {
  std::mt19937_64 rng = test::seeded("CalibrationResult", 0);
  return calibrate(test::random_views(test::true_camera(), 14, 0.1, rng), kResultSize);
}

Eigen::Isometry3d leaning(double about_x_rad, double about_y_rad, double x_mm, double z_mm) {
  Eigen::Isometry3d pose = Eigen::Isometry3d::Identity();
  pose.linear() = Eigen::AngleAxisd(about_x_rad, Eigen::Vector3d::UnitX()).toRotationMatrix() *
                  Eigen::AngleAxisd(about_y_rad, Eigen::Vector3d::UnitY()).toRotationMatrix() *
                  Eigen::Vector3d(1.0, -1.0, -1.0).asDiagonal();
  pose.translation() = Eigen::Vector3d(x_mm, 0.0, z_mm);
  return pose;
}

std::vector<std::string> advice_for(const std::vector<Eigen::Isometry3d>& poses) {
  std::mt19937_64 rng = test::seeded("CalibrationAdvice", 0);
  std::vector<CalibrationView> views;
  for (const Eigen::Isometry3d& pose : poses) {
    views.push_back(
        test::seen("p", test::true_camera(), test::board_points(9, 6, 25.0), pose, 0.05, rng));
  }
  return sentences(calibrate(views, kResultSize).advice, LengthUnit::mm);
}

}  // namespace

TEST(CalibrationAdviceProperty, GoodPhotosGetNoneButWhatTheyLack) {
  const std::vector<std::string> advice = sentences(good_result().advice, LengthUnit::mm);
  EXPECT_THAT(advice, Not(Contains(HasSubstr("Tilt more"))));
  EXPECT_THAT(advice, Not(Contains(HasSubstr("one distance"))));
  EXPECT_THAT(advice, Not(Contains(HasSubstr("same way"))));
  EXPECT_THAT(advice, Not(Contains(HasSubstr("more photo"))));
}

TEST(CalibrationAdviceProperty, FlatPhotosAreToldToTilt) {
  std::vector<Eigen::Isometry3d> poses;
  for (int i = 0; i < 6; ++i) {
    poses.push_back(leaning(0.15 * std::cos(1.05 * i), 0.15 * std::sin(1.05 * i), 8.0 * i - 20.0,
                            280.0 + 20.0 * i));
  }
  const auto advice = advice_for(poses);
  ASSERT_FALSE(advice.empty());
  EXPECT_THAT(advice.front(), HasSubstr("Tilt more: 0 of 6 photos"));
  EXPECT_THAT(advice, Contains(HasSubstr("Take 4 more photos: 6 were used")));
  EXPECT_THAT(advice, Contains(HasSubstr("same way round in all photos")));
}

TEST(CalibrationAdviceProperty, LeaningOneWayOnlyIsSaid) {
  std::vector<Eigen::Isometry3d> poses;
  for (int i = 0; i < 8; ++i) {
    poses.push_back(leaning(-0.6 + 0.17 * i, 0.0, 5.0 * i - 20.0, 260.0 + 15.0 * i));
  }
  EXPECT_THAT(advice_for(poses), Contains(HasSubstr("lean the same way")));
}

TEST(CalibrationAdviceProperty, EmptyPartsOfThePictureAreNamed) {
  CalibrationResult result = good_result();
  result.coverage.corners.fill(10);
  for (const std::size_t cell : {0U, 1U, 2U, 9U, 10U, 11U}) result.coverage.corners[cell] = 0;
  EXPECT_THAT(sentences(calibration_advice(result), LengthUnit::mm),
              Contains(HasSubstr("Nothing seen in the upper left corner of the picture")));
  result.coverage.corners.fill(10);
  EXPECT_THAT(sentences(calibration_advice(result), LengthUnit::mm),
              Not(Contains(HasSubstr("Nothing seen"))));
}

TEST(CalibrationTextProperty, ValuesComeWithTheirUncertaintyAndWhatWasLeftOut) {
  CalibrationResult result = good_result();
  result.left_out = {{"soft.jpg", 0, "blurred"}, {"b.jpg", 2, "miss by up to 3.1 px"}};
  const std::string text = calibration_text(result);
  EXPECT_THAT(text, HasSubstr("1600 x 1200 px"));
  EXPECT_THAT(text, HasSubstr("focal length x    13"));
  EXPECT_THAT(text, HasSubstr(" px, u 0."));
  EXPECT_THAT(text, HasSubstr("soft.jpg: blurred"));
  EXPECT_THAT(text, HasSubstr("2 corners (b.jpg, 2: miss by up to 3.1 px)"));
  EXPECT_THAT(text, HasSubstr("in 14 photos"));
}

TEST(CalibrationPictureProperty, EmptyCellsAreHatchedAndSeenOnesShaded) {
  CalibrationResult result = good_result();
  result.views.clear();  // cells alone
  result.coverage.corners.fill(0);
  result.coverage.corners[0] = 5;
  const cv::Mat picture = coverage_picture(result);
  ASSERT_EQ(picture.type(), CV_8UC3);
  // 1600 px are drawn 1100 px wide from (30, 110) on; cells are 122 x 137 px.
  const cv::Vec3b seen = picture.at<cv::Vec3b>(110 + 60, 30 + 60);
  EXPECT_GT(seen[0], seen[2] + 20) << "not blue";
  const cv::Mat empty = picture(cv::Rect(30 + 4 * 122 + 10, 110 + 2 * 137 + 10, 100, 110));
  int orange = 0;
  for (int y = 0; y < empty.rows; ++y) {
    for (int x = 0; x < empty.cols; ++x) {
      const cv::Vec3b c = empty.at<cv::Vec3b>(y, x);
      orange += c[2] > c[0] + 40 ? 1 : 0;
    }
  }
  EXPECT_GT(orange, empty.rows * empty.cols / 20);
}

TEST(CalibrationWriteClosedForm, TheCameraFileReadsBackAsItWasFound) {
  const test::ScratchFolder folder;
  const CalibrationResult result = good_result();
  write_calibration(result, folder / "camera.yml", folder / "coverage.png");
  const CameraModel camera = read_camera_file(folder / "camera.yml");
  EXPECT_DOUBLE_EQ(camera.focal_px.x(), result.camera.focal_px.x());
  EXPECT_DOUBLE_EQ(camera.lens[4], result.camera.lens[4]);
  ASSERT_TRUE(camera.covariance.has_value());
  EXPECT_LT((*camera.covariance - *result.camera.covariance).norm(),
            1e-12 * result.camera.covariance->norm());
  EXPECT_EQ(camera.photos.size(), 14U);
  EXPECT_GT(std::filesystem::file_size(folder / "coverage.png"), 10000U);
}

TEST(CalibrationWriteBadInput, NothingIsLeftWhenEitherFileCannotBeWritten) {
  const test::ScratchFolder folder;
  const CalibrationResult result = good_result();
  std::filesystem::create_directory(folder / "taken");
  EXPECT_THROW(write_calibration(result, folder / "camera.yml", folder / "taken"), Error);
  EXPECT_THROW(write_calibration(result, folder / "taken", folder / "coverage.png"), Error);
  EXPECT_THROW(write_calibration(result, folder / "no/camera.yml", folder / "coverage.png"), Error);
  int files = 0;
  for (const auto& entry : std::filesystem::directory_iterator(folder.path())) {
    files += entry.path().filename() == "taken" ? 0 : 1;
  }
  EXPECT_EQ(files, 0);
}

}  // namespace evenbevel
