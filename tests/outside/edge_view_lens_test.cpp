// edge_view through a real camera's published lens, its pose against OpenCV's solver, and what it
// makes of a camera it only knows from EXIF.

#include <cmath>
#include <filesystem>

#include <gtest/gtest.h>
#include <opencv2/calib3d.hpp>
#include <opencv2/core/persistence.hpp>

#include "edge_checks.hpp"
#include "evenbevel/card.hpp"
#include "opencv_camera.hpp"
#include "opencv_doc_boards.hpp"

namespace evenbevel::outside {
namespace {

EdgePicture slanted_picture() {
  EdgePicture picture;
  picture.tilt_rad = {0.05, -0.06, 0.04};
  picture.camera_mm = {14.0, 7.0, 300.0};
  picture.borders = ground_edge(3.4, 0.45, 0.058, 4.0);
  return picture;
}

// Package opencv-doc 4.6.0, examples/data/left_intrinsics.yml: the published distortion of a real
// camera (k1 -0.27). It bends the card by 30 px at this picture's corners.
TEST(EdgeLensOutside, ThroughAPublishedLensTheEdgeIsRead) {
  const std::filesystem::path file = test::opencv_doc_folder() / "left_intrinsics.yml";
  if (!std::filesystem::exists(file)) GTEST_SKIP() << "package opencv-doc is not installed";
  cv::Mat distortion;
  cv::FileStorage(file.string(), cv::FileStorage::READ)["distortion_coefficients"] >> distortion;
  EdgePicture picture = slanted_picture();
  for (int i = 0; i < 5; ++i)
    picture.distortion[static_cast<std::size_t>(i)] = distortion.at<double>(i);
  const EdgeResult result = measure(picture, settings_of(3.4, Stage::ground));
  expect_offset(result, 0.058);
  EXPECT_NEAR(result.camera_lateral_mm, -7.0, 0.3);
}

/// Where OpenCV's solver puts the camera, card frame, by the same corners.
cv::Vec3d solved_place(const EdgeResult& result, const EdgePicture& picture) {
  const std::vector<Eigen::Vector2d> corners = card_layout(CardKind::edge).corners_mm;
  std::vector<cv::Point3d> on_card;
  std::vector<cv::Point2d> seen;
  for (const CardCorner& corner : result.corners) {
    const Eigen::Vector2d& at = corners.at(static_cast<std::size_t>(corner.index));
    on_card.emplace_back(at.x(), at.y(), 0.0);
    seen.emplace_back(corner.q_px.x(), corner.q_px.y());
  }
  const cv::Matx33d matrix = test::matrix_of(picture.camera());
  cv::Vec3d rotation, translation;
  cv::solvePnP(on_card, seen, matrix, cv::noArray(), rotation, translation);
  cv::Matx33d turn;
  cv::Rodrigues(rotation, turn);
  return -(turn.t() * translation);
}

// cv::solvePnP on the corners that were found: plain least squares, no robustness and no priors.
// A hundredth of a pixel of each of some 150 corners places a camera 300 mm away to about 0.02 mm.
TEST(EdgeLensOutside, TheCameraStandsWhereOpenCvsSolverPutsIt) {
  const EdgePicture picture = slanted_picture();
  const EdgeResult result = measure(picture, settings_of(3.4, Stage::ground));
  ASSERT_TRUE(result.pose);
  const Eigen::Vector3d ours = result.pose->T_camera_card.inverse().matrix.translation();
  const cv::Vec3d theirs = solved_place(result, picture);
  for (int i = 0; i < 3; ++i) {
    EXPECT_NEAR(ours[i], theirs[i], 0.03) << i;
  }
  EXPECT_NEAR(theirs[0], picture.camera_mm.x, 0.1);
  EXPECT_NEAR(theirs[1], picture.camera_mm.y, 0.1);
  EXPECT_NEAR(theirs[2], picture.camera_mm.z, 0.1);
}

// Exif 2.3, tag 0xA405: the focal length that gives the same angle of view on 35 mm film (36 x 24
// mm; by the diagonal of 43.27 mm as CIPA DCG-001 has it), a whole number of mm. 4500 px over the
// picture's diagonal of 2683 px: 73 mm. All that is known of the lens, and the edge is held.
TEST(EdgeLensProperty, AFocalLengthFromExifHoldsTheEdgeInAWiderInterval) {
  const EdgePicture picture = slanted_picture();
  const CameraModel truth = picture.camera();
  Photo photo = draw(picture);
  photo.camera.focal_length_35mm =
      std::round(43.2666 * truth.focal_px.x() / std::hypot(truth.width_px, truth.height_px));
  ASSERT_EQ(*photo.camera.focal_length_35mm, 73.0);
  const EdgeSettings settings = settings_of(3.4, Stage::ground);
  const EdgeResult guessed = edge_view(photo, guess_camera(photo), settings);
  expect_held(guessed, 0.058);
  EXPECT_GE(guessed.centreline_offset_mm->u,
            edge_view(photo, truth, settings).centreline_offset_mm->u);
}

}  // namespace
}  // namespace evenbevel::outside
