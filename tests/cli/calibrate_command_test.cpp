#include <cmath>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include <Eigen/Cholesky>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/videoio.hpp>

#include "../photo/exif_maker.hpp"
#include "board_scene.hpp"
#include "evenbevel/camera.hpp"
#include "evenbevel/card.hpp"
#include "lens_card_photo.hpp"
#include "run_program.hpp"
#include "scratch_folder.hpp"
#include "seeded.hpp"

namespace evenbevel {

namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;
using ::testing::Not;

using test::ProgramRun;

ProgramRun run(const std::string& arguments) {
  return test::run_program(std::string(PROGRAM) + " calibrate " + arguments);
}

std::string in_quotes(const fs::path& path) {
  std::string text = "'";
  text += path.string();
  return text += '\'';
}

std::string photo_name(int i) {
  std::string text = "p";
  text += std::to_string(i);
  return text += ".jpg";
}

/// 800 x 600 px, so that a set is drawn in a second or two.
CameraModel camera_800() {
  CameraModel camera = test::true_camera();
  camera.width_px = 800;
  camera.height_px = 600;
  camera.focal_px = {655.0, 653.0};
  camera.centre_px = {405.0, 293.5};
  return camera;
}

cv::Mat card_photo(const CameraModel& camera, int scene, double blur_px = 0.8) {
  std::mt19937_64 rng = test::seeded("CalibrateCommand", scene);
  const Eigen::Isometry3d pose = test::random_pose(rng, test::uniform(rng, 250.0, 340.0));
  test::Imaging imaging;
  imaging.blur_px = blur_px;
  return test::take_picture(test::lens_card_light(camera, pose), imaging, rng);
}

void save_jpeg(const cv::Mat& picture, const std::string& model, const fs::path& path) {
  std::vector<uchar> bytes;
  cv::imencode(".jpg", picture, bytes, {cv::IMWRITE_JPEG_QUALITY, 96});
  const std::string block = test::exif_block({.make = "Anvil Optics", .model = model});
  test::write_file(path, test::jpeg_with_exif({bytes.begin(), bytes.end()}, block));
}

/// The truth lies within the stated uncertainty: 4 u, since four values are looked at.
void expect_true_camera(const CameraModel& found, const CameraModel& truth) {
  ASSERT_TRUE(found.covariance.has_value());
  const double pairs[][2] = {{found.focal_px.x(), truth.focal_px.x()},
                             {found.focal_px.y(), truth.focal_px.y()},
                             {found.centre_px.x(), truth.centre_px.x()},
                             {found.centre_px.y(), truth.centre_px.y()}};
  for (int k = 0; k < 4; ++k) {
    const double u = std::sqrt((*found.covariance)(k, k));
    EXPECT_LT(u, 1.0) << k;
    // The drawing's 3 x 3 samples a pixel pull corners by 0.02 px or so: some of it systematic.
    EXPECT_NEAR(pairs[k][0], pairs[k][1], 4.0 * u + 0.1) << k;
  }
}

int files_in(const fs::path& folder) {
  int count = 0;
  for ([[maybe_unused]] const auto& entry : fs::directory_iterator(folder)) ++count;
  return count;
}

/// Exit 3, both sentences, nothing written.
void expect_refused(const std::string& arguments, const std::vector<std::string>& said) {
  const test::ScratchFolder out;
  const ProgramRun result = run(arguments + " -o " + in_quotes(out / "camera.yml"));
  EXPECT_EQ(result.exit_code, 3) << result.output;
  for (const std::string& words : said) EXPECT_THAT(result.output, HasSubstr(words));
  EXPECT_THAT(result.output, HasSubstr("do: "));
  EXPECT_EQ(files_in(out.path()), 0);
}

}  // namespace

TEST(CalibrateCommandProperty, AFolderOfPhotosGivesTheCameraAndNamesTheBadOnes) {
  const test::ScratchFolder folder;
  const fs::path photos = folder / "photos";
  fs::create_directory(photos);
  for (int i = 0; i < 8; ++i) {
    save_jpeg(card_photo(camera_800(), i), "One", photos / (photo_name(i)));
  }
  save_jpeg(card_photo(camera_800(), 8), "Two", photos / "q-other.jpg");
  save_jpeg(card_photo(camera_800(), 9, 4.0), "One", photos / "r-soft.jpg");
  save_jpeg(cv::Mat(600, 800, CV_8UC1, cv::Scalar(128)), "One", photos / "s-empty.jpg");
  test::write_file(photos / "t-broken.jpg", "not a photo");

  const fs::path camera_file = folder / "camera.yml";
  const ProgramRun result = run(in_quotes(photos) + " -o " + in_quotes(camera_file));
  ASSERT_EQ(result.exit_code, 0) << result.output;
  EXPECT_THAT(result.output, HasSubstr("8 photos"));
  EXPECT_THAT(result.output, HasSubstr("q-other.jpg: not like the first photo: another camera"));
  EXPECT_THAT(result.output, HasSubstr("r-soft.jpg: blurred"));
  EXPECT_THAT(result.output, HasSubstr("s-empty.jpg: no lens card"));
  EXPECT_THAT(result.output, HasSubstr("t-broken.jpg: "));
  EXPECT_THAT(result.output, HasSubstr(camera_file.string()));

  const CameraModel camera = read_camera_file(camera_file);
  expect_true_camera(camera, camera_800());
  EXPECT_EQ(camera.width_px, 800);
  EXPECT_EQ(camera.identity.make, "Anvil Optics");
  EXPECT_EQ(camera.identity.model, "One");
  EXPECT_EQ(camera.photos.size(), 8U);
  EXPECT_GT(camera.nearest_mm.value_or(0.0), 200.0);
  EXPECT_LT(camera.farthest_mm.value_or(1e9), 400.0);
  EXPECT_FALSE(cv::imread((folder / "camera-coverage.png").string()).empty());
  EXPECT_EQ(files_in(folder.path()), 3);  // the two and the photos' folder
}

TEST(CalibrateCommandProperty, AVideoFileIsACamera) {
  const test::ScratchFolder folder;
  const std::string video = (folder / "card.avi").string();
  cv::VideoWriter writer(video, cv::VideoWriter::fourcc('M', 'J', 'P', 'G'), 10.0,
                         cv::Size(800, 600), false);
  ASSERT_TRUE(writer.isOpened());
  for (int i = 0; i < 8; ++i) {
    const cv::Mat frame = card_photo(camera_800(), 20 + i);
    for (int k = 0; k < 3; ++k) writer.write(frame);
  }
  writer.release();
  const fs::path camera_file = folder / "camera.yml";
  const ProgramRun result = run("--camera " + in_quotes(video) + " -o " + in_quotes(camera_file));
  ASSERT_EQ(result.exit_code, 0) << result.output;
  EXPECT_THAT(result.output, HasSubstr("8 of 20 views"));  // each pose once
  EXPECT_THAT(result.output, Not(HasSubstr("9 of 20 views")));
  const CameraModel camera = read_camera_file(camera_file);
  expect_true_camera(camera, camera_800());
  EXPECT_TRUE(fs::exists(folder / "camera-coverage.png"));
}

CameraModel action_camera() {
  CameraModel camera = test::fisheye_camera();
  camera.width_px = 1000;
  camera.height_px = 750;
  camera.focal_px = {440.0, 439.0};
  camera.centre_px = {505.0, 368.5};
  return camera;
}

struct CardFromNearBy {
  Eigen::Isometry3d T_camera_card;
  cv::Mat photo;
};

CardFromNearBy card_from_near_by(const CameraModel& camera, int scene) {
  std::mt19937_64 rng = test::seeded("CalibrateFisheyeCommand", scene);
  const Eigen::Isometry3d pose = test::random_pose(rng, test::uniform(rng, 130.0, 200.0));
  return {pose, test::take_picture(test::lens_card_light(camera, pose), {.blur_px = 0.8}, rng)};
}

// Drawn through cv::fisheye; then the camera file measures where the camera stood over a card that
// was not in the calibration.
TEST(CalibrateCommandProperty, AFisheyeIsFoundAndMeasuresAPose) {
  const test::ScratchFolder folder;
  const fs::path photos = folder / "photos";
  fs::create_directory(photos);
  const CameraModel truth = action_camera();
  for (int i = 0; i < 10; ++i) {
    save_jpeg(card_from_near_by(truth, i).photo, "One", photos / photo_name(i));
  }
  const fs::path camera_file = folder / "camera.yml";
  const ProgramRun result =
      run("--lens fisheye " + in_quotes(photos) + " --locked-lens -o " + in_quotes(camera_file));
  ASSERT_EQ(result.exit_code, 0) << result.output;
  EXPECT_THAT(result.output, HasSubstr("lens              fisheye"));
  const CameraModel camera = read_camera_file(camera_file);
  EXPECT_EQ(camera.lens.model().name(), "fisheye");
  expect_true_camera(camera, truth);

  const CardFromNearBy other = card_from_near_by(truth, 20);
  const FoundCard card = require_card(other.photo, CardKind::lens, 40);
  const CardPose pose = see_card(card, camera, {}).pose;
  const Eigen::Vector3d at = pose.T_camera_card.inverse().matrix.translation();
  const Eigen::Vector3d miss = at - other.T_camera_card.inverse().translation();
  EXPECT_LT(miss.norm(), 0.1);
}

TEST(CalibrateCommandBadInput, AnUnknownLensModelIsWrongUse) {
  const ProgramRun result = run("a.jpg --lens mirror");
  EXPECT_EQ(result.exit_code, 2);
  EXPECT_THAT(result.output, HasSubstr("fisheye"));
}

TEST(CalibrateCommandBadInput, TooFewPhotosSaysHowManyAreNeeded) {
  const test::ScratchFolder folder;
  std::string files;
  for (int i = 0; i < 2; ++i) {
    const std::string path = (folder / (photo_name(i))).string();
    save_jpeg(card_photo(camera_800(), i), "One", path);
    files += in_quotes(path) + ' ';
  }
  test::write_file(folder / "broken.jpg", "");
  expect_refused(files + in_quotes(folder / "broken.jpg"),
                 {"only 2 of 3 photos", "5 are needed", "broken.jpg"});
}

TEST(CalibrateCommandBadInput, TheSamePhotoOverAndOver) {
  const test::ScratchFolder folder;
  const cv::Mat photo = card_photo(camera_800(), 3);
  for (int i = 0; i < 6; ++i) {
    save_jpeg(photo, "One", folder / (photo_name(i)));
  }
  expect_refused(in_quotes(folder.path()), {"at the same pose"});
}

TEST(CalibrateCommandBadInput, NoPhotoShowsTheCard) {
  const test::ScratchFolder folder;
  for (int i = 0; i < 3; ++i) {
    save_jpeg(cv::Mat(600, 800, CV_8UC1, cv::Scalar(90 + i)), "One", folder / (photo_name(i)));
  }
  expect_refused(in_quotes(folder.path()),
                 {"0 of 3 photos show the lens card", "evenbevel card lens"});
}

TEST(CalibrateCommandBadInput, AnotherCardIsNamed) {
  expect_refused(std::string(SOURCE_FOLDER) + "/sample-images/edge-scribed-dye.jpg",
                 {"0 of 1 photos show", "edge card"});
}

TEST(CalibrateCommandBadInput, AFolderWithoutPhotosAndAMissingFile) {
  const test::ScratchFolder folder;
  expect_refused(in_quotes(folder.path()), {folder.path().string()});
  expect_refused(in_quotes(folder / "gone"), {"gone"});
}

TEST(CalibrateCommandBadInput, AVideoThatCannotBeOpened) {
  expect_refused("--camera /nowhere/film.avi", {"/nowhere/film.avi", "cannot be opened"});
}

TEST(CalibrateCommandBadInput, AnOutputInAFolderThatIsNotThereIsRefusedBeforeTheWork) {
  const ProgramRun result = run("whatever.jpg -o /nowhere/camera.yml");
  EXPECT_EQ(result.exit_code, 3);
  EXPECT_THAT(result.output, HasSubstr("/nowhere/camera.yml cannot be written"));
}

TEST(CalibrateCommandBadInput, WrongUseIsTwo) {
  EXPECT_EQ(run("").exit_code, 2);
  EXPECT_EQ(run("a.jpg --camera 0").exit_code, 2);
  EXPECT_EQ(run("a.jpg --chessboard 9by6").exit_code, 2);
  EXPECT_EQ(run("a.jpg --chessboard 9x6 --square big").exit_code, 2);
  EXPECT_EQ(run("a.jpg --printed-bar 7.85in").exit_code, 3);  // 199.4 mm: fine, but no such photo
  EXPECT_EQ(run("a.jpg --printed-bar 10in").exit_code, 2);
  EXPECT_EQ(run("a.jpg --views 2").exit_code, 2);
}

TEST(CalibrateCommandProperty, HelpShowsAnExample) {
  const ProgramRun result = run("--help");
  EXPECT_EQ(result.exit_code, 0);
  EXPECT_THAT(result.output, HasSubstr("evenbevel calibrate lens-photos/ -o phone.yml"));
}

}  // namespace evenbevel
