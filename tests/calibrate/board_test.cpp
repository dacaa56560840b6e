#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <opencv2/imgproc.hpp>

#include "board_scene.hpp"
#include "evenbevel/calibrate.hpp"
#include "lens.hpp"
#include "lens_card_photo.hpp"
#include "seeded.hpp"

namespace evenbevel {

namespace {

using ::testing::HasSubstr;
using ::testing::StartsWith;

constexpr int kSquare_px = 30;
constexpr int kMargin_px = 40;

/// Squares from column and row kMargin_px on, so borders lie at kMargin_px - 0.5 + 30 k.
cv::Mat drawn_chessboard(int columns, int rows) {
  cv::Mat picture((rows + 1) * kSquare_px + 2 * kMargin_px,
                  (columns + 1) * kSquare_px + 2 * kMargin_px, CV_8UC1, cv::Scalar(230));
  for (int r = 0; r <= rows; ++r) {
    for (int c = r % 2; c <= columns; c += 2) {
      const cv::Rect square(kMargin_px + c * kSquare_px, kMargin_px + r * kSquare_px, kSquare_px,
                            kSquare_px);
      picture(square).setTo(20);
    }
  }
  cv::GaussianBlur(picture, picture, {}, 0.8);
  return picture;
}

CameraModel small_camera() {
  CameraModel camera = test::true_camera();
  camera.width_px /= 2;
  camera.height_px /= 2;
  camera.focal_px /= 2;
  camera.centre_px = {0.5 * (camera.centre_px.x() + 0.5) - 0.5,
                      0.5 * (camera.centre_px.y() + 0.5) - 0.5};
  return camera;
}

Eigen::Isometry3d card_in_view() {
  Eigen::Isometry3d pose = Eigen::Isometry3d::Identity();
  pose.linear() = Eigen::AngleAxisd(0.35, Eigen::Vector3d(0.8, 0.6, 0.0)).toRotationMatrix() *
                  Eigen::Vector3d(1.0, -1.0, -1.0).asDiagonal();
  pose.translation() = Eigen::Vector3d(-6.0, 4.0, 330.0);
  return pose;
}

cv::Mat card_photo(double blur_px, const char* suite) {
  std::mt19937_64 rng = test::seeded(suite, 0);
  test::Imaging imaging;
  imaging.blur_px = blur_px;
  return test::take_picture(test::lens_card_light(small_camera(), card_in_view()), imaging, rng);
}

}  // namespace

TEST(CalibrationBoardClosedForm, TheWindowStaysBelowAThirdOfTheSpacing) {
  // 0.36 x 22.2 px (the tightest of the opencv-doc photos) is 7.99.
  EXPECT_EQ(corner_half_window(22.2), 7);
  EXPECT_EQ(corner_half_window(28.0), 10);
  EXPECT_EQ(corner_half_window(3.0), 2);
  EXPECT_EQ(corner_half_window(500.0), 16);
}

TEST(CalibrationBoardClosedForm, ChessboardCornersLieBetweenThePixels) {
  const auto view = find_chessboard("drawn", drawn_chessboard(7, 5),
                                    {.columns = 7, .rows = 5, .square_mm = 10.0});
  ASSERT_TRUE(view.has_value());
  ASSERT_EQ(view->points_px.size(), 35U);
  // Either end may come first: the board looks the same after half a turn.
  const double first = kMargin_px + kSquare_px - 0.5;
  const bool turned = view->points_px[0].x() > 100.0;
  for (std::size_t i = 0; i < 35; ++i) {
    const double across = view->points_mm[i].x() / 10.0 + 3.0;
    const double down = 2.0 - view->points_mm[i].y() / 10.0;
    const double column = turned ? 6.0 - across : across;
    const double row = turned ? 4.0 - down : down;
    // Symmetric squares leave no bias; 8-bit levels leave a few thousandths.
    EXPECT_NEAR(view->points_px[i].x(), first + kSquare_px * column, 0.01);
    EXPECT_NEAR(view->points_px[i].y(), first + kSquare_px * row, 0.01);
  }
}

TEST(CalibrationBoardClosedForm, CardCornersFollowThePrintersScale) {
  FoundCard card;
  card.kind = CardKind::lens;
  card.corners = {{.index = 0, .q_px = {10.0, 20.0}}};
  const CalibrationView view = card_view("c", card, {.along = 0.997, .across = 1.002, .u = 0.0005});
  // The first of 12 x 8 inner corners, 20 mm apart: (-110, 70) mm.
  EXPECT_NEAR(view.points_mm[0].x(), -110.0 * 0.997, 1e-12);
  EXPECT_NEAR(view.points_mm[0].y(), 70.0 * 1.002, 1e-12);
}

TEST(CalibrationBoardProperty, CornersOfTheLensCardLieWhereTheLensPutsThem) {
  const BoardSighting sighting = sight_board("card", card_photo(0.8, "BoardCorners"), {});
  ASSERT_FALSE(sighting.left_out.has_value()) << sighting.left_out->reason;
  EXPECT_GE(sighting.view.points_px.size(), 85U);
  double sum = 0.0;
  for (std::size_t i = 0; i < sighting.view.points_px.size(); ++i) {
    const Eigen::Vector2d& p_mm = sighting.view.points_mm[i];
    const Eigen::Vector3d p = card_in_view() * Eigen::Vector3d(p_mm.x(), p_mm.y(), 0.0);
    const Eigen::Vector2d truth = test::lens_pixel(small_camera(), p.hnormalized());
    sum += (sighting.view.points_px[i] - truth).squaredNorm();
  }
  // Cells of 35 px: noise leaves 0.01 to 0.02 px, the drawing's 3 x 3 samples as much again.
  EXPECT_LT(std::sqrt(sum / static_cast<double>(sighting.view.points_px.size())), 0.05);
}

TEST(CalibrationBoardProperty, BlurIsMeasuredAsItWasPutIn) {
  for (const double blur_px : {0.8, 1.2}) {
    const BoardSighting sighting = sight_board("card", card_photo(blur_px, "BoardBlur"), {});
    ASSERT_TRUE(sighting.blur_px.has_value());
    // Reading between pixels spreads a border by up to 0.4 px (a triangle of one pixel), which
    // adds as a square, and the drawing's own samples by 0.1 px.
    EXPECT_NEAR(*sighting.blur_px, std::hypot(blur_px, 0.3), 0.2);
  }
}

TEST(CalibrationBoardBadInput, ABlurredPhotoIsLeftOutAsBlurred) {
  const BoardSighting sighting = sight_board("soft.jpg", card_photo(2.8, "BoardSoft"), {});
  ASSERT_TRUE(sighting.left_out.has_value());
  EXPECT_EQ(sighting.left_out->name, "soft.jpg");
  EXPECT_THAT(sighting.left_out->reason, StartsWith("blurred"));
}

TEST(CalibrationBoardBadInput, OneSoftPhotoAmongSharpOnesIsLeftOut) {
  std::vector<BoardSighting> sightings;
  for (int i = 0; i < 5; ++i) {
    BoardSighting sighting;
    sighting.view.name = i == 3 ? "soft.jpg" : "sharp.jpg";
    sighting.view.points_px = {{0.0, 0.0}, {60.0, 0.0}};
    sighting.blur_px = i == 3 ? 2.6 : 0.8;
    sightings.push_back(sighting);
  }
  leave_out_blurred(sightings);
  for (const BoardSighting& sighting : sightings) {
    EXPECT_EQ(sighting.left_out.has_value(), sighting.view.name == "soft.jpg");
  }
}

TEST(CalibrationBoardBadInput, AnEmptyPictureShowsNoBoard) {
  const cv::Mat empty(600, 800, CV_8UC1, cv::Scalar(128));
  const BoardSighting no_card = sight_board("x.jpg", empty, {});
  ASSERT_TRUE(no_card.left_out.has_value());
  EXPECT_THAT(no_card.left_out->reason, HasSubstr("no lens card"));
  CalibrationBoard board;
  board.chessboard = Chessboard{.columns = 9, .rows = 6, .square_mm = 25.0};
  const BoardSighting no_board = sight_board("x.jpg", empty, board);
  ASSERT_TRUE(no_board.left_out.has_value());
  EXPECT_THAT(no_board.left_out->reason, HasSubstr("no chessboard of 9 x 6"));
}

}  // namespace evenbevel
