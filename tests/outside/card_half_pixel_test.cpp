#include <cmath>
#include <vector>

#include <gtest/gtest.h>
#include <opencv2/aruco.hpp>
#include <opencv2/imgproc.hpp>

#include "evenbevel/card.hpp"

namespace evenbevel {
namespace {

constexpr int kCell_px = 128, kMarker_px = 96, kRim_px = 100;

/// The heel card with its grid on whole pixels: cell (c, r) covers columns kRim + 128 c and the 127
/// after it, so its left border lies at kRim + 128 c - 0.5 when pixel centres are at integers.
cv::Mat heel_card_on_whole_pixels() {
  const CardLayout& card = card_layout(CardKind::heel);
  const cv::Ptr<cv::aruco::Dictionary> dictionary =
      cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000);
  cv::Mat page(card.rows * kCell_px + 2 * kRim_px, card.columns * kCell_px + 2 * kRim_px, CV_8UC1,
               cv::Scalar(255));
  const auto cell = [&page](int column, int row) {
    return page(
        cv::Rect(kRim_px + column * kCell_px, kRim_px + row * kCell_px, kCell_px, kCell_px));
  };
  for (int row = 0; row < card.rows; ++row) {
    for (int column = 0; column < card.columns; ++column) {
      if ((column + row) % 2 == 0 && !card.in_lane({column, row})) cell(column, row).setTo(0);
    }
  }
  for (std::size_t i = 0; i < card.marker_cells.size(); ++i) {
    cv::Mat drawn;
    dictionary->drawMarker(card.first_id + static_cast<int>(i), kMarker_px, drawn, 1);
    constexpr int kAround = (kCell_px - kMarker_px) / 2;
    drawn.copyTo(cell(card.marker_cells[i].column, card.marker_cells[i].row)(
        cv::Rect(kAround, kAround, kMarker_px, kMarker_px)));
  }
  return page;
}

// The trap, so that nobody takes a scale from raw marker corners: OpenCV 4.6's aruco puts the
// corners of a square of 96 px on the centres of its outermost pixels, 95 px apart (measured with
// OpenCV itself; its documentation says nothing of it).
TEST(CardOutside, RawMarkerCornersAreOnePixelTooNarrow) {
  std::vector<std::vector<cv::Point2f>> corners;
  std::vector<int> ids;
  cv::aruco::detectMarkers(heel_card_on_whole_pixels(),
                           cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000), corners,
                           ids);
  ASSERT_EQ(ids.size(), card_layout(CardKind::heel).marker_cells.size());
  for (const std::vector<cv::Point2f>& quad : corners) {
    EXPECT_NEAR(cv::norm(quad[1] - quad[0]), 95.0, 0.01);
  }
}

// OpenCV's convention of pixel centres at integers: our corners lie on the borders themselves, half
// a pixel before the first pixel of a cell, sharp or blurred.
TEST(CardOutside, OurCornersCarryNoHalfPixel) {
  const CardLayout& card = card_layout(CardKind::heel);
  for (const double blur_px : {0.5, 0.8, 1.5, 3.0}) {
    cv::Mat page;
    cv::GaussianBlur(heel_card_on_whole_pixels(), page, cv::Size(0, 0), blur_px);
    const FoundCard found = require_card(page, CardKind::heel, 8);
    EXPECT_EQ(found.corners.size(), card.corners_mm.size());
    for (const CardCorner& corner : found.corners) {
      const Eigen::Vector2d& p_mm = card.corners_mm[static_cast<std::size_t>(corner.index)];
      const Eigen::Vector2d cells(p_mm.x() / card.pitch_mm + 0.5 * card.columns,
                                  0.5 * card.rows - p_mm.y() / card.pitch_mm);
      const Eigen::Vector2d expected = (kRim_px + kCell_px * cells.array() - 0.5).matrix();
      EXPECT_LT((corner.q_px - expected).norm(), 0.005) << "blur " << blur_px;
    }
  }
}

}  // namespace
}  // namespace evenbevel
