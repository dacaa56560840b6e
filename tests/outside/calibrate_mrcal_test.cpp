#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iomanip>
#include <sstream>

#include <gtest/gtest.h>

#include "evenbevel/calibrate.hpp"
#include "opencv_doc_boards.hpp"
#include "scratch_folder.hpp"

// mrcal (Debian package mrcal, D. Kogan) is a calibrator with a solver of its own: the same corners
// must give the same camera. Plain options: no board warp, no outlier rejection, no regularisation,
// since our solver does without the first and the test switches the other two off here.

namespace evenbevel {

namespace {

constexpr const char* kProgram = "/usr/bin/mrcal-calibrate-cameras";
const cv::Size kMrcalSize(640, 480);

void write_corners(const std::vector<CalibrationView>& views, const std::filesystem::path& path) {
  std::ofstream out(path);
  out << "# filename x y level\n" << std::setprecision(12);
  for (const CalibrationView& view : views) {
    for (const Eigen::Vector2d& q : view.points_px) {
      out << view.name << ' ' << q.x() << ' ' << q.y() << " 0\n";
    }
  }
}

int run_mrcal(const std::filesystem::path& folder, const std::string& side) {
  const std::string command =
      "cd '" + folder.string() + "' && " + kProgram +
      " --corners-cache corners.vnl --lensmodel LENSMODEL_OPENCV5 --focal 530"
      " --imagersize 640 480 --object-spacing 0.025 --object-width-n 9 --object-height-n 6"
      " --skip-calobject-warp-solve --skip-outlier-rejection --skip-regularization"
      " --outdir . '" +
      side + "*.jpg' > log.txt 2>&1";
  return std::system(command.c_str());
}

/// The list after 'intrinsics': fx fy cx cy k1 k2 p1 p2 k3.
CameraModel read_mrcal_model(const std::filesystem::path& path) {
  std::ifstream in(path);
  std::stringstream text;
  text << in.rdbuf();
  const std::string all = text.str();
  const std::size_t start = all.find('[', all.find("'intrinsics':"));
  std::string list = all.substr(start + 1, all.find(']', start) - start - 1);
  for (char& c : list) c = c == ',' ? ' ' : c;
  std::istringstream numbers(list);
  CameraModel camera;
  camera.width_px = kMrcalSize.width;
  camera.height_px = kMrcalSize.height;
  numbers >> camera.focal_px.x() >> camera.focal_px.y() >> camera.centre_px.x() >>
      camera.centre_px.y();
  for (int k = 0; k < camera.lens.size(); ++k) numbers >> camera.lens[k];
  EXPECT_TRUE(numbers) << list;
  return camera;
}

/// Largest distance between the two projections of one ray, over a grid of the whole picture.
double worst_difference_px(const CameraModel& a, const CameraModel& b) {
  double worst = 0.0;
  for (int y = 0; y < kMrcalSize.height; y += 20) {
    for (int x = 0; x < kMrcalSize.width; x += 20) {
      const Eigen::Vector2d q(x, y);
      worst = std::max(worst, (project(b, Point<Camera>{ray(a, q)}) - q).norm());
    }
  }
  return worst;
}

}  // namespace

class CalibrateMrcalOutside : public ::testing::TestWithParam<const char*> {};

TEST_P(CalibrateMrcalOutside, AgreesOnTheSameCorners) {
  if (!std::filesystem::exists(kProgram)) GTEST_SKIP() << "package mrcal is not installed";
  const std::string side = GetParam();
  const auto views = test::opencv_doc_views(side);
  if (views.empty()) GTEST_SKIP() << "package opencv-doc is not installed";
  const test::ScratchFolder folder;
  write_corners(views, folder.path() / "corners.vnl");
  ASSERT_EQ(run_mrcal(folder.path(), side), 0);
  const CameraModel theirs = read_mrcal_model(folder.path() / "camera-0.cameramodel");

  CalibrationSettings plain;
  plain.leave_out = false;
  plain.soft_distortion = false;
  const CalibrationResult ours = calibrate(views, kMrcalSize, plain);
  // Asked for: 0.01 px.
  EXPECT_LT(worst_difference_px(ours.camera, theirs), 0.01);
  EXPECT_NEAR(ours.camera.focal_px.x(), theirs.focal_px.x(), 0.001);
  EXPECT_NEAR(ours.camera.focal_px.y(), theirs.focal_px.y(), 0.001);
  RecordProperty("worst_difference_px", std::to_string(worst_difference_px(ours.camera, theirs)));
}

INSTANTIATE_TEST_SUITE_P(OpencvDoc, CalibrateMrcalOutside, ::testing::Values("left", "right"));

}  // namespace evenbevel
