#include <cmath>

#include <gtest/gtest.h>
#include <opencv2/imgproc.hpp>

#include "choil_fixture.hpp"

namespace evenbevel {
namespace {

using test::DrawnSection;

const ReportSettings kChoilPictureSettings{.tolerance_mm = 0.05};

cv::Mat picture_of(const DrawnSection& section, const ChoilResult& result) {
  return choil_picture(result, test::photo_of(section), kChoilPictureSettings).bgr;
}

ChoilResult without_outline(const DrawnSection& section) {
  ChoilResult result = test::result_of(section);
  result.depths.clear();
  for (ChoilDepth& depth : result.outline) {
    // Two points stay, so that the picture has the same scale; far below what is compared.
    if (depth.depth_mm < 29.0) depth.left_px = depth.right_px = std::nullopt;
  }
  return result;
}

ChoilResult without_marks(const DrawnSection& section) {
  ChoilResult result = test::result_of(section);
  result.depths.clear();
  return result;
}

/// Where a row of greys crosses from paper (235) to steel (60), left and right, in a column range.
std::pair<double, double> borders(const cv::Mat& page, int row, int from, int to) {
  constexpr double kHalf = 147.5;
  std::pair<double, double> found{-1.0, -1.0};
  for (int j = from; j + 1 < to; ++j) {
    const double a = page.at<cv::Vec3b>(row, j)[1];
    const double b = page.at<cv::Vec3b>(row, j + 1)[1];
    if (a >= kHalf && b < kHalf && found.first < 0.0) found.first = j + (a - kHalf) / (a - b);
    if (a < kHalf && b >= kHalf) found.second = j + (kHalf - a) / (b - a);
  }
  return found;
}

double changed_column(const cv::Mat& bare, const cv::Mat& drawn, int row, double near) {
  double sum = 0.0, moment = 0.0;
  for (int j = static_cast<int>(near) - 9; j < static_cast<int>(near) + 10; ++j) {
    const double change = cv::norm(bare.at<cv::Vec3b>(row, j), drawn.at<cv::Vec3b>(row, j));
    sum += change;
    moment += change * j;
  }
  return sum > 0.0 ? moment / sum : -1.0;
}

// The outline lies on the section's border in the right-hand panel, magnified some 17 times: half a
// photo pixel would be 8 page px. Symmetric, so that the mirror image lies on it as well.
TEST(ChoilPictureProperty, TheOutlineLiesOnTheSection) {
  for (const int orientation : {1, 3, 6, 8, 2}) {
    const DrawnSection section{.angle_left_rad = 0.09,
                               .angle_right_rad = 0.09,
                               .turned_rad = 0.06,
                               .orientation = orientation};
    const cv::Mat bare = picture_of(section, without_outline(section));
    const cv::Mat drawn = picture_of(section, without_marks(section));
    ASSERT_EQ(bare.size(), drawn.size());
    int compared = 0;
    for (int row = drawn.rows - 1440; row < drawn.rows - 790; row += 13) {
      const auto [left, right] = borders(bare, row, 830, 1550);
      if (left < 0.0 || right < left) continue;
      EXPECT_NEAR(changed_column(bare, drawn, row, left), left, 2.5) << orientation << ' ' << row;
      EXPECT_NEAR(changed_column(bare, drawn, row, right), right, 2.5) << orientation << ' ' << row;
      ++compared;
    }
    EXPECT_GT(compared, 30) << orientation;
  }
}

// Held edge down, tip away, the left face is at the left: its outline is sky blue (86 180 233), the
// right one's orange (230 159 0).
TEST(ChoilPictureProperty, TheLeftFaceIsAtTheLeftHoweverThePhotoIsStored) {
  for (const int orientation : {1, 3, 6, 8}) {
    const DrawnSection section{.orientation = orientation};
    const cv::Mat page = picture_of(section, test::result_of(section));
    const auto middle_of = [&](const cv::Scalar& bgr) {
      cv::Mat mask;
      cv::inRange(page(cv::Rect(40, page.rows - 1400, 740, 1000)), bgr - cv::Scalar::all(8),
                  bgr + cv::Scalar::all(8), mask);
      EXPECT_GT(cv::countNonZero(mask), 200);
      const cv::Moments m = cv::moments(mask, true);
      return m.m10 / m.m00;
    };
    EXPECT_LT(middle_of({233, 180, 86}), middle_of({0, 159, 230}) - 100.0) << orientation;
  }
}

// The section is widest at its spine: in the right-hand panel it grows upward from the edge.
TEST(ChoilPictureProperty, TheEdgeIsDown) {
  const DrawnSection section{};
  const cv::Mat bare = picture_of(section, without_outline(section));
  const auto width = [&](int row) {
    const auto [left, right] = borders(bare, row, 830, 1550);
    return right - left;
  };
  const int low = bare.rows - 560, high = bare.rows - 1000;
  EXPECT_GT(width(low), 0.0);
  EXPECT_GT(width(high), width(low) + 20.0);
}

TEST(ChoilPictureBadInput, NothingSeenShowsTheWholePhoto) {
  const cv::Mat page = picture_of({}, ChoilResult{});
  EXPECT_EQ(page.cols, 1600);
  EXPECT_GT(page.rows, 1200);
  ChoilResult result = test::result_of(DrawnSection{});
  result.outline.clear();
  EXPECT_EQ(picture_of({}, result).cols, 1600);
}

}  // namespace
}  // namespace evenbevel
