#include <cmath>

#include <gtest/gtest.h>
#include <opencv2/imgproc.hpp>

#include "side_fixture.hpp"

namespace evenbevel {
namespace {

using test::DrawnFaces;

const ReportSettings kSidePictureSettings{.tolerance_mm = 0.2};

cv::Mat picture_of(const DrawnFaces& blade, const SideResult& result) {
  const test::FacePhotos photos(blade);
  return side_picture(result, test::side_settings(), photos.given(), kSidePictureSettings).bgr;
}

SideResult without(const DrawnFaces& blade, FaceTrace::Kind kind) {
  SideResult result = test::result_of(blade);
  for (FaceTrace& trace : result.traces) {
    if (trace.kind == kind) trace.points_px.clear();
  }
  return result;
}

/// Rows of the page where a strip begins: green card below white paper or between the strips.
std::vector<int> strip_tops(const cv::Mat& page, int column) {
  std::vector<int> tops;
  bool inside = false;
  for (int i = 0; i < page.rows; ++i) {
    const cv::Vec3b c = page.at<cv::Vec3b>(i, column);
    const bool green = std::abs(c[0] - 60) < 8 && std::abs(c[1] - 110) < 8 && c[2] < 10;
    if (green && !inside) tops.push_back(i);
    if (c[0] > 240 && c[1] > 240 && c[2] > 240) inside = false;
    if (green) inside = true;
  }
  return tops;
}

/// Where a column of greys falls from the flat (110) to the bevel (220), below `top`.
double bevel_row(const cv::Mat& bare, int column, int top) {
  constexpr double kHalf = 165.0;
  bool steel = false;
  for (int i = top; i + 1 < bare.rows; ++i) {
    const cv::Vec3b a = bare.at<cv::Vec3b>(i, column);
    const cv::Vec3b b = bare.at<cv::Vec3b>(i + 1, column);
    steel = steel || std::abs(a[2] - 110) < 6;
    if (!steel || a[2] >= kHalf || b[2] < kHalf) continue;
    return i + (kHalf - a[2]) / (b[2] - a[2]);
  }
  return -1.0;
}

/// Middle of what changed in a column, weighted.
double changed_row(const cv::Mat& bare, const cv::Mat& drawn, int column, int from, int to) {
  double sum = 0.0, moment = 0.0;
  for (int i = from; i < to; ++i) {
    const double change = cv::norm(bare.at<cv::Vec3b>(i, column), drawn.at<cv::Vec3b>(i, column));
    sum += change;
    moment += change * i;
  }
  return sum > 300.0 ? moment / sum : -1.0;
}

// The bevel line's trace lies where flat and bevel meet in the picture, on both faces. A page px is
// 0.08 mm here; the casing is alike above and below, the orange stands alike against both greys.
TEST(SidePictureProperty, TracesLieOnTheBevelLine) {
  for (const double turned_rad : {0.03, -0.2, 3.1}) {
    const DrawnFaces blade{.turned_rad = turned_rad};
    const cv::Mat bare = picture_of(blade, without(blade, FaceTrace::Kind::bevel));
    const cv::Mat drawn = picture_of(blade, test::result_of(blade));
    ASSERT_EQ(bare.size(), drawn.size());
    int compared = 0;
    for (int column = 500; column < 1350; column += 9) {
      const std::vector<int> tops = strip_tops(bare, column);
      for (std::size_t strip = 0; strip < std::min<std::size_t>(2, tops.size()); ++strip) {
        const double bevel = bevel_row(bare, column, tops[strip]);
        const int near = static_cast<int>(bevel);
        const double trace = changed_row(bare, drawn, column, near - 12, near + 13);
        if (bevel < 0.0 || trace < 0.0) continue;  // a dash's gap
        EXPECT_NEAR(trace, bevel, 0.8) << turned_rad << ' ' << column << ' ' << strip;
        ++compared;
      }
    }
    EXPECT_GT(compared, 100) << turned_rad;
  }
}

/// Rows of the overlay with the right line's vermilion (213 94 0) or the left's blue (0 114 178).
std::vector<int> rows_with(const cv::Mat& page, const cv::Vec3b& bgr, int column, int from) {
  constexpr int kOverlay = 530;  // the plot of the difference lies below
  std::vector<int> rows;
  for (int i = from; i < std::min(page.rows, from + kOverlay); ++i) {
    if (cv::norm(page.at<cv::Vec3b>(i, column), bgr) < 12.0) rows.push_back(i);
  }
  return rows;
}

// Left over right by 0.4 mm: in the overlay the left line lies above by that times the factor.
TEST(SidePictureProperty, TheOverlayShowsWhichIsHigher) {
  for (const double difference_mm : {0.4, -0.4}) {
    const DrawnFaces blade{.bevel_right_mm = 18.0 - difference_mm};
    const cv::Mat page = picture_of(blade, test::result_of(blade));
    int higher = 0, lower = 0;
    for (int column = 1300; column > 600; column -= 11) {
      const std::vector<int> tops = strip_tops(page, column);
      ASSERT_EQ(tops.size(), 2U);
      const int from = tops[1] + 500;  // beyond the right face's strip
      const std::vector<int> left = rows_with(page, {178, 114, 0}, column, from);
      const std::vector<int> right = rows_with(page, {0, 94, 213}, column, from);
      if (left.empty() || right.empty()) continue;
      (left.front() < right.front() ? higher : lower)++;
    }
    EXPECT_GT(std::max(higher, lower), 15);
    EXPECT_EQ(higher > lower, difference_mm > 0.0);
    EXPECT_EQ(std::min(higher, lower), 0);
  }
}

// The made-up bevels (220) run from the plunge lines near x = 0 to the tip at 100; the handle end
// lies at -20.
TEST(SidePictureProperty, TheTipIsAtTheRightOnBothFaces) {
  const DrawnFaces blade{};
  const cv::Mat page = picture_of(blade, without(blade, FaceTrace::Kind::bevel));
  const auto bright_rows = [&](int column, int top) {
    constexpr int kStrip = 330;
    cv::Mat mask;
    cv::inRange(page(cv::Rect(column, top, 1, kStrip)), cv::Scalar::all(214), cv::Scalar::all(226),
                mask);
    return cv::countNonZero(mask);
  };
  const std::vector<int> tops = strip_tops(page, 500);
  ASSERT_EQ(tops.size(), 2U);
  for (const int top : tops) {
    EXPECT_LT(bright_rows(160, top), 20);
    EXPECT_GT(bright_rows(1300, top), 100);
  }
}

TEST(SidePictureClosedForm, FillsAPhoneUpright) {
  const DrawnFaces blade{};
  const cv::Mat page = picture_of(blade, test::result_of(blade));
  EXPECT_EQ(page.type(), CV_8UC3);
  EXPECT_EQ(page.cols, 1600);
  EXPECT_GT(page.rows, page.cols);
  const cv::Mat one = picture_of({.both = false}, test::result_of(DrawnFaces{.both = false}));
  EXPECT_LT(one.rows, page.rows);
}

TEST(SidePictureClosedForm, GreyAnd16BitPhotosAreDrawn) {
  const DrawnFaces blade{.both = false};
  test::FacePhotos photos(blade);
  const auto drawn = [&] {
    return side_picture(test::result_of(blade), test::side_settings(), photos.given(),
                        kSidePictureSettings)
        .bgr;
  };
  cv::Mat colour = drawn();
  cv::cvtColor(photos.left().pixels, photos.left().pixels, cv::COLOR_BGR2GRAY);
  const cv::Mat grey = drawn();
  EXPECT_EQ(grey.size(), colour.size());
  photos.left().pixels.convertTo(photos.left().pixels, CV_16U, 257.0);
  EXPECT_LT(cv::norm(grey, drawn(), cv::NORM_L1) / static_cast<double>(grey.total()), 0.05);
}

TEST(SidePictureBadInput, WithoutTracesThePhotosAreShown) {
  const DrawnFaces blade{};
  SideResult result = test::result_of(blade);
  result.traces.clear();
  EXPECT_EQ(picture_of(blade, result).cols, 1600);
  EXPECT_EQ(picture_of(blade, SideResult{}).cols, 1600);
  result = test::result_of(blade);
  result.stations.clear();
  result.plunges.clear();
  EXPECT_EQ(picture_of(blade, result).cols, 1600);
}

}  // namespace
}  // namespace evenbevel
