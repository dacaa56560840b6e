#include <gtest/gtest.h>
#include <opencv2/core.hpp>

#include "evenbevel/photo.hpp"

namespace evenbevel {
namespace {

/// 2 rows, 3 columns, all different.
cv::Mat small_picture() { return (cv::Mat_<uchar>(2, 3) << 1, 2, 3, 4, 5, 6); }

bool equal(const cv::Mat& a, const cv::Mat& b) {
  return a.size() == b.size() && cv::norm(a, b, cv::NORM_INF) == 0.0;
}

TEST(UprightClosedForm, EachOrientationWorkedByHand) {
  const cv::Mat stored = small_picture();
  EXPECT_TRUE(equal(upright(stored, 1), stored));
  EXPECT_TRUE(equal(upright(stored, 2), (cv::Mat_<uchar>(2, 3) << 3, 2, 1, 6, 5, 4)));
  EXPECT_TRUE(equal(upright(stored, 3), (cv::Mat_<uchar>(2, 3) << 6, 5, 4, 3, 2, 1)));
  EXPECT_TRUE(equal(upright(stored, 4), (cv::Mat_<uchar>(2, 3) << 4, 5, 6, 1, 2, 3)));
  EXPECT_TRUE(equal(upright(stored, 5), (cv::Mat_<uchar>(3, 2) << 1, 4, 2, 5, 3, 6)));
  EXPECT_TRUE(equal(upright(stored, 6), (cv::Mat_<uchar>(3, 2) << 4, 1, 5, 2, 6, 3)));
  EXPECT_TRUE(equal(upright(stored, 7), (cv::Mat_<uchar>(3, 2) << 6, 3, 5, 2, 4, 1)));
  EXPECT_TRUE(equal(upright(stored, 8), (cv::Mat_<uchar>(3, 2) << 3, 6, 2, 5, 1, 4)));
}

TEST(UprightClosedForm, APointGoesWhereItsPixelGoes) {
  const cv::Mat stored = small_picture();
  for (int orientation = 1; orientation <= 8; ++orientation) {
    const cv::Mat turned = upright(stored, orientation);
    EXPECT_EQ(turned.size(), upright_size(stored.size(), orientation));
    for (int y = 0; y < stored.rows; ++y) {
      for (int x = 0; x < stored.cols; ++x) {
        const cv::Point2d to = upright_point(cv::Point2d(x, y), stored.size(), orientation);
        EXPECT_EQ(turned.at<uchar>(cv::Point(to)), stored.at<uchar>(y, x)) << orientation;
      }
    }
  }
}

TEST(UprightClosedForm, FractionsOfAPixelTurnWithIt) {
  // Rotated clockwise: the distance from the left edge becomes that from the top, and the distance
  // from the bottom that from the left.
  const cv::Point2d to = upright_point({10.25, 3.75}, {100, 50}, 6);
  EXPECT_DOUBLE_EQ(to.x, 49 - 3.75);
  EXPECT_DOUBLE_EQ(to.y, 10.25);
}

}  // namespace
}  // namespace evenbevel
