#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/camera.hpp"
#include "evenbevel/error.hpp"
#include "scratch_folder.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

using ::testing::HasSubstr;

// As OpenCV's calibration writes it, nothing of our own. The numbers are made up.
constexpr const char* kPlainFile = R"(%YAML:1.0
---
image_width: 640
image_height: 480
camera_matrix: !!opencv-matrix
   rows: 3
   cols: 3
   dt: d
   data: [ 532.5, 0., 342.25, 0., 533.5, 233.75, 0., 0., 1. ]
distortion_coefficients: !!opencv-matrix
   rows: 1
   cols: 5
   dt: d
   data: [ -0.28, 0.025, 0.0012, -0.00014, 0.16 ]
)";

std::string with(const std::string& old_part, const std::string& new_part) {
  std::string text = kPlainFile;
  const std::size_t at = text.find(old_part);
  EXPECT_NE(at, std::string::npos) << old_part;
  return text.replace(at, old_part.size(), new_part);
}

CameraModel full_camera() {
  CameraModel camera;
  camera.width_px = 4032;
  camera.height_px = 3024;
  camera.focal_px = {2920.0 + 1.0 / 3.0, 2919.0 + 1.0 / 7.0};
  camera.centre_px = {2023.1, 1506.7};
  camera.lens = Lens("pinhole", {0.0621, -0.1179, 4e-4, -3e-4, 0.0449});
  std::mt19937_64 rng = test::seeded("CameraFile", 0);
  Eigen::Matrix<double, 9, 9> J;
  for (int i = 0; i < J.size(); ++i) J(i) = test::uniform(rng, -1.0, 1.0);
  camera.covariance = J * J.transpose();
  camera.identity = {.make = "Demo \"Optics\": A/B",
                     .model = "D1",
                     .lens = "5.6 mm f/1.8",
                     .focal_length_mm = 5.6,
                     .focal_length_35mm = 25.0,
                     .digital_zoom = 1.0};
  camera.nearest_mm = 210.5;
  camera.farthest_mm = 405.25;
  camera.rms_px = 0.17;
  camera.photos = {{"a b.jpg", 96, 0.15}, {"c.jpg", 40, 0.22}};
  return camera;
}

TEST(CameraFileClosedForm, EverythingWrittenComesBack) {
  const test::ScratchFolder folder;
  const CameraModel camera = full_camera();
  write_camera_file(camera, folder / "camera.yml");
  const CameraModel back = read_camera_file(folder / "camera.yml");
  EXPECT_EQ(back.width_px, camera.width_px);
  EXPECT_EQ(back.height_px, camera.height_px);
  EXPECT_EQ(back.focal_px.x(), camera.focal_px.x());  // written with 17 figures: exact
  EXPECT_EQ(back.focal_px.y(), camera.focal_px.y());
  EXPECT_EQ(back.centre_px.x(), camera.centre_px.x());
  EXPECT_EQ(back.centre_px.y(), camera.centre_px.y());
  EXPECT_EQ(back.lens, camera.lens);
  ASSERT_TRUE(back.covariance);
  EXPECT_EQ(*back.covariance, *camera.covariance);
  EXPECT_FALSE(back.guessed);
  EXPECT_EQ(back.identity.make, camera.identity.make);
  EXPECT_EQ(back.identity.model, camera.identity.model);
  EXPECT_EQ(back.identity.lens, camera.identity.lens);
  EXPECT_EQ(back.identity.focal_length_mm, camera.identity.focal_length_mm);
  EXPECT_EQ(back.identity.focal_length_35mm, camera.identity.focal_length_35mm);
  EXPECT_EQ(back.identity.digital_zoom, camera.identity.digital_zoom);
  EXPECT_EQ(back.nearest_mm, camera.nearest_mm);
  EXPECT_EQ(back.farthest_mm, camera.farthest_mm);
  EXPECT_EQ(back.rms_px, camera.rms_px);
  ASSERT_EQ(back.photos.size(), 2u);
  EXPECT_EQ(back.photos[0].name, "a b.jpg");
  EXPECT_EQ(back.photos[1].corners, 40);
  EXPECT_EQ(back.photos[1].rms_px, 0.22);
  EXPECT_EQ(back.file, (folder / "camera.yml").string());
}

TEST(CameraFileClosedForm, OpenCVsOwnKeysAreEnough) {
  const test::ScratchFolder folder;
  test::write_file(folder / "plain.yml", kPlainFile);
  const CameraModel camera = read_camera_file(folder / "plain.yml");
  EXPECT_EQ(camera.focal_px.x(), 532.5);
  EXPECT_EQ(camera.centre_px.y(), 233.75);
  EXPECT_EQ(camera.lens[4], 0.16);
  EXPECT_FALSE(camera.covariance);
  EXPECT_TRUE(camera.identity.make.empty());
  EXPECT_FALSE(camera.identity.focal_length_mm);
}

TEST(CameraFileClosedForm, FourCoefficientsMeanNoThirdRadialTerm) {
  const test::ScratchFolder folder;
  std::string text = with("cols: 5", "cols: 4");
  text.replace(text.find(", 0.16 ]"), 8, " ]");
  test::write_file(folder / "four.yml", text);
  EXPECT_EQ(read_camera_file(folder / "four.yml").lens[4], 0.0);
}

std::string with_line(const std::string& line) { return kPlainFile + line; }

TEST(CameraFileClosedForm, AFisheyeComesBackAsOne) {
  const test::ScratchFolder folder;
  CameraModel camera = full_camera();
  camera.lens = Lens("fisheye", {-0.0213, 0.0087, -0.0061, 0.0015});
  camera.covariance = LensMatrix::Identity(8, 8);
  write_camera_file(camera, folder / "camera.yml");
  EXPECT_THAT(test::file_text(folder / "camera.yml"), HasSubstr("lens_model: fisheye"));
  const CameraModel back = read_camera_file(folder / "camera.yml");
  EXPECT_EQ(back.lens, camera.lens);
  EXPECT_EQ(*back.covariance, *camera.covariance);
}

TEST(CameraFileClosedForm, AFileThatNamesNoLensModelIsOfAPinhole) {
  const test::ScratchFolder folder;
  test::write_file(folder / "plain.yml", kPlainFile);
  EXPECT_EQ(read_camera_file(folder / "plain.yml").lens.model().name(), "pinhole");
}

// The key that OpenCV's sample program for calibration writes (samples/cpp/tutorial_code/calib3d).
TEST(CameraFileClosedForm, OpenCVsFisheyeIsNotTakenForAPinhole) {
  const test::ScratchFolder folder;
  std::string text = with("cols: 5", "cols: 4");
  text.replace(text.find(", 0.16 ]"), 8, " ]");
  test::write_file(folder / "fish.yml", text + "fisheye_model: 1\n");
  test::write_file(folder / "plain.yml", text + "fisheye_model: 0\n");
  const CameraModel fisheye = read_camera_file(folder / "fish.yml");
  EXPECT_EQ(fisheye.lens, Lens("fisheye", {-0.28, 0.025, 0.0012, -0.00014}));
  EXPECT_EQ(read_camera_file(folder / "plain.yml").lens.model().name(), "pinhole");
}

TEST(CameraFileClosedForm, WritingReplacesAndLeavesNothingElse) {
  const test::ScratchFolder folder;
  test::write_file(folder / "camera.yml", "old");
  write_camera_file(full_camera(), folder / "camera.yml");
  EXPECT_THAT(test::file_text(folder / "camera.yml"), HasSubstr("covariance"));
  EXPECT_EQ(std::distance(std::filesystem::directory_iterator(folder.path()), {}), 1);
}

void expect_rejected(const std::string& text, const std::string& reason) {
  const test::ScratchFolder folder;
  test::write_file(folder / "bad.yml", text);
  try {
    read_camera_file(folder / "bad.yml");
    ADD_FAILURE() << "accepted: " << reason;
  } catch (const Error& error) {
    EXPECT_THAT(error.what(), HasSubstr("bad.yml"));
    EXPECT_THAT(error.what(), HasSubstr(reason));
    EXPECT_FALSE(error.do_next().empty());
  }
}

TEST(CameraFileBadInput, WhatIsNotACameraFileIsNamed) {
  expect_rejected("", "not an OpenCV camera file");
  expect_rejected("fx = 3", "not an OpenCV camera file");
  expect_rejected(std::string("%YAML:1.0\n\0\0", 12), "not an OpenCV camera file");
  expect_rejected("%YAML:1.0\n---\n- 1\n- 2\n", "not an OpenCV camera file");
  expect_rejected("{\"image_width\": [" + std::string(200'000, '[') + "]}", "nested too deep");
  expect_rejected("%YAML:1.0\n---\na: " + std::string(200'000, '['), "nested too deep");
  std::string dashes = "%YAML:1.0\n---\na:\n  ", indented = "%YAML:1.0\n---\n",
              tags = "<?xml version=\"1.0\"?>\n";
  for (int i = 0; i < 2000; ++i) {
    dashes += "- ";
    indented += std::string(static_cast<std::size_t>(i), ' ') + "a:\n";
    tags += "<a>";
  }
  expect_rejected(dashes + "1\n", "nested too deep");
  expect_rejected(indented, "nested too deep");
  expect_rejected(tags, "nested too deep");
  expect_rejected("%YAML:1.0\n---\nimage_width: [ 1, {", "cannot be understood");
  expect_rejected("%YAML:1.0\n---\nimage_width: 3\n", "camera_matrix");
  expect_rejected(with("image_height: 480\n", ""), "has no image_height");
  expect_rejected(with("distortion_coefficients", "coefficients"), "has no distortion");
}

TEST(CameraFileBadInput, AnImplausibleCameraIsRefused) {
  expect_rejected(with("640", "0"), "image size");
  expect_rejected(with("640", "640.5"), "not a whole number");
  expect_rejected(with("532.5", "-532.5"), "focal length");
  expect_rejected(with("532.5", "5.3"), "focal length");
  expect_rejected(with("532.5", ".Nan"), "not finite");
  expect_rejected(with("533.5", "5330.5"), "factor of 2");
  expect_rejected(with("342.25", "1342.25"), "principal point");
  expect_rejected(with("[ 532.5, 0.", "[ 532.5, 5."), "skew");
  expect_rejected(with("cols: 3", "cols: 2"), "camera_matrix");
}

TEST(CameraFileBadInput, ARicherLensModelIsNotCutDown) {
  std::string text = with("cols: 5", "cols: 8");
  text.replace(text.find("0.16 ]"), 6, "0.16, 0.1, 0.0, 0.0 ]");
  expect_rejected(text, "only k1 k2 p1 p2 k3");
}

TEST(CameraFileBadInput, AnUnknownLensModelIsNamedWithThoseThatAreKnown) {
  expect_rejected(with_line("lens_model: mirror\n"), "lens_model 'mirror' is not known");
  expect_rejected(with_line("lens_model: mirror\n"), "only pinhole and fisheye are");
}

TEST(CameraFileBadInput, AFisheyeHasItsOwnCoefficientsAndCovariance) {
  expect_rejected(with_line("lens_model: fisheye\n"), "only k1 k2 k3 k4 are");
  const test::ScratchFolder folder;
  CameraModel camera = full_camera();  // with the covariance of nine parameters
  camera.lens = Lens("fisheye", {});
  camera.covariance = LensMatrix::Identity(8, 8);
  write_camera_file(camera, folder / "camera.yml");
  std::string text = test::file_text(folder / "camera.yml");
  text.replace(text.find("lens_model: fisheye"), 19, "lens_model: pinhole");
  expect_rejected(text, "covariance is not 9 x 9");
}

TEST(CameraFileBadInput, ACovarianceMustBeOne) {
  expect_rejected(std::string(kPlainFile) +
                      "covariance: !!opencv-matrix\n   rows: 1\n   cols: 2\n   dt: d\n"
                      "   data: [ 1., 2. ]\n",
                  "not 9 x 9");
  const test::ScratchFolder folder;
  CameraModel camera = full_camera();
  (*camera.covariance)(0, 1) += 1.0;
  write_camera_file(camera, folder / "camera.yml");
  EXPECT_THROW(read_camera_file(folder / "camera.yml"), Error);
  camera = full_camera();
  (*camera.covariance)(3, 3) *= -1.0;
  write_camera_file(camera, folder / "camera.yml");
  EXPECT_THROW(read_camera_file(folder / "camera.yml"), Error);
}

TEST(CameraFileBadInput, MissingFilesAndFoldersAreNamed) {
  const test::ScratchFolder folder;
  EXPECT_THROW(read_camera_file(folder / "none.yml"), Error);
  EXPECT_THROW(read_camera_file(folder.path()), Error);
}

TEST(CameraFileBadInput, AFailedWriteLeavesNothing) {
  const test::ScratchFolder folder;
  EXPECT_THROW(write_camera_file(full_camera(), folder / "no/such/camera.yml"), Error);
  EXPECT_THROW(write_camera_file(full_camera(), folder.path()), Error);
  EXPECT_TRUE(std::filesystem::is_empty(folder.path()));
}

}  // namespace
}  // namespace evenbevel
