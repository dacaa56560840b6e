#include <array>
#include <cmath>

#include <gtest/gtest.h>
#include <opencv2/imgproc.hpp>

#include "evenbevel/units.hpp"
#include "fixture.hpp"
#include "report_checks.hpp"

namespace evenbevel {
namespace {

using test::DrawnBlade;

const ReportSettings kPictureSettings{.tolerance_mm = 0.05};

cv::Mat without_traces(const DrawnBlade& blade) {
  EdgeResult result = test::result_of(blade);
  for (EdgeTrace& trace : result.traces) {
    const bool flat =
        trace.kind == EdgeTrace::Kind::flat_left || trace.kind == EdgeTrace::Kind::flat_right;
    if (!flat) trace.points_px.clear();
  }
  return edge_picture(result, test::photo_of(blade), kPictureSettings).bgr;
}

cv::Mat with_traces(const DrawnBlade& blade) {
  return edge_picture(test::result_of(blade), test::photo_of(blade), kPictureSettings).bgr;
}

/// Middle (weighted by grey above `floor`) of each run of a column that rises above `floor`.
std::vector<double> run_middles(const cv::Mat& column, double floor) {
  std::vector<double> middles;
  double sum = 0.0;
  double moment = 0.0;
  for (int i = 0; i < column.rows; ++i) {
    const double weight = std::max(0.0, column.at<float>(i) - floor);
    sum += weight;
    moment += weight * i;
    if (weight == 0.0 && sum > 0.0) {
      middles.push_back(moment / sum);
      sum = moment = 0.0;
    }
  }
  return middles;
}

/// The first strip's rows on the page: dark ground below the white header.
cv::Range strip_rows(const cv::Mat& page) {
  cv::Mat grey;
  cv::cvtColor(page, grey, cv::COLOR_BGR2GRAY);
  const cv::Mat dark = grey < 60;
  constexpr int kWide = 40, kHigh = 20;  // No letter fills that.
  for (int i = 200; i + kHigh < page.rows; ++i) {
    if (cv::countNonZero(dark(cv::Rect(page.cols / 3, i, kWide, kHigh))) < kWide * kHigh) continue;
    return {i, i + 380};
  }
  return {0, 0};
}

/// Where the lines stand in the strip at a column, and where the traces were drawn over them.
void expect_traces_on_lines(const DrawnBlade& blade) {
  const cv::Mat bare = without_traces(blade);
  const cv::Mat drawn = with_traces(blade);
  ASSERT_EQ(bare.size(), drawn.size());
  const cv::Range rows = strip_rows(bare);
  ASSERT_GT(rows.size(), 0);
  int compared = 0;
  for (int column = 300; column < 1300; column += 7) {
    cv::Mat grey;
    cv::cvtColor(bare(rows, cv::Range(column, column + 1)), grey, cv::COLOR_BGR2GRAY);
    grey.convertTo(grey, CV_32F);
    cv::Mat change;
    cv::absdiff(bare(rows, cv::Range(column, column + 1)),
                drawn(rows, cv::Range(column, column + 1)), change);
    cv::cvtColor(change, change, cv::COLOR_BGR2GRAY);
    change.convertTo(change, CV_32F);
    // White lines on grey 120: halfway. The mid-plane's dash-dot is not white.
    const std::vector<double> lines = run_middles(grey, 200.0);
    const std::vector<double> traces = run_middles(change, 30.0);
    if (traces.size() != 2 || lines.size() != 2) continue;  // a dash's gap, or the mid-plane
    // A photo pixel is about 8 page px across. A line of 1.6 px, sampled by pixels and cut at a
    // grey level, moves by up to 0.1 px; a slip of half a pixel would be 4.
    EXPECT_NEAR(traces[0], lines[0], 0.8) << column;
    EXPECT_NEAR(traces[1], lines[1], 0.8) << column;
    ++compared;
  }
  EXPECT_GT(compared, 30);
}

constexpr double kGap_mm = 0.6;  // far enough apart for each to be found by its own

TEST(EdgePictureProperty, TracesLieOnTheLinesThatTheyFollow) {
  expect_traces_on_lines({.width_mm = kGap_mm});
}

TEST(EdgePictureProperty, TracesLieOnTheLinesWhenTheBladeIsAslant) {
  expect_traces_on_lines({.width_mm = kGap_mm, .direction_rad = 0.3});
  expect_traces_on_lines({.width_mm = kGap_mm, .direction_rad = 1.4});
  expect_traces_on_lines({.width_mm = kGap_mm, .direction_rad = 3.0});
}

TEST(EdgePictureProperty, TracesLieOnTheLinesInAnyOrientation) {
  for (const int orientation : {2, 3, 6, 8})
    expect_traces_on_lines({.width_mm = kGap_mm, .orientation = orientation});
}

double difference(const cv::Mat& a, const cv::Mat& b) {
  return a.size() == b.size() ? cv::norm(a, b, cv::NORM_L1) / static_cast<double>(a.total()) : 1e9;
}

// The picture is of the scene held upright, however the file stores it.
TEST(EdgePictureProperty, TheStoredOrientationDoesNotShow) {
  const cv::Mat upright = with_traces({});
  for (const int orientation : {3, 6, 8, 2}) {
    // Anti-aliased drawing differs by single grey levels when turned; a page the wrong way up
    // differs by tens.
    EXPECT_LT(difference(upright, with_traces({.orientation = orientation})), 1.5) << orientation;
  }
}

TEST(EdgePictureClosedForm, GreyAnd16BitPhotosAreDrawnAlike) {
  const DrawnBlade blade{};
  const cv::Mat colour = with_traces(blade);
  Photo photo = test::photo_of(blade);
  cv::cvtColor(photo.pixels, photo.pixels, cv::COLOR_BGR2GRAY);  // it was drawn in greys
  EXPECT_LT(difference(colour, edge_picture(test::result_of(blade), photo, kPictureSettings).bgr),
            0.05);
  photo.pixels.convertTo(photo.pixels, CV_16U, 257.0);
  EXPECT_LT(difference(colour, edge_picture(test::result_of(blade), photo, kPictureSettings).bgr),
            0.05);
}

TEST(EdgePictureClosedForm, FillsAPhoneUpright) {
  const cv::Mat page = with_traces({});
  EXPECT_EQ(page.type(), CV_8UC3);
  EXPECT_EQ(page.cols, 1600);
  EXPECT_GT(page.rows, page.cols);
}

/// Share of pixels within a few levels of a colour.
double share_of(const cv::Mat& page, const cv::Scalar& bgr) {
  cv::Mat mask;
  cv::inRange(page, bgr - cv::Scalar::all(6), bgr + cv::Scalar::all(6), mask);
  return static_cast<double>(cv::countNonZero(mask)) / static_cast<double>(page.total());
}

// Okabe and Ito (2008): blue 0 114 178, orange 230 159 0; vermilion darkened to 184 79 0.
TEST(EdgePictureClosedForm, TheBannerCarriesTheVerdict) {
  const cv::Scalar vermilion(0, 79, 184);
  const cv::Scalar blue(178, 114, 0);
  const auto banner = [](double tolerance_mm) {
    const cv::Mat page =
        edge_picture(test::result_of({}), test::photo_of({}), {.tolerance_mm = tolerance_mm}).bgr;
    return page.rowRange(0, 130).clone();
  };
  EXPECT_GT(share_of(banner(0.02), vermilion), 0.5);
  EXPECT_GT(share_of(banner(0.08), blue), 0.5);
  EXPECT_GT(share_of(banner(0.04), cv::Scalar(0, 159, 230)), 0.5);
}

// WCAG 2.1, 1.4.3: white, or ink (26 26 26) on orange, on the banner's ground.
TEST(EdgePictureOutside, TheBannersWordsStandOut) {
  for (const double tolerance_mm : {0.02, 0.08, 0.04}) {
    const cv::Mat page =
        edge_picture(test::result_of({}), test::photo_of({}), {.tolerance_mm = tolerance_mm}).bgr;
    const auto ground = page.at<cv::Vec3b>(5, 5);
    const std::array rgb = {ground[2] / 255.0, ground[1] / 255.0, ground[0] / 255.0};
    const double light = tolerance_mm == 0.04 ? 26.0 / 255.0 : 1.0;
    EXPECT_GE(test::contrast(rgb, {light, light, light}), 4.5) << tolerance_mm;
  }
}

/// Middles of steel (grey 120) and of what is white on it, in a strip's rows.
std::pair<double, double> steel_and_white(const cv::Mat& page, const cv::Range& rows, int column) {
  cv::Mat grey;
  cv::cvtColor(page(rows, cv::Range(column, column + 1)), grey, cv::COLOR_BGR2GRAY);
  const auto middle = [&](int low, int high) {
    cv::Mat mask;
    cv::inRange(grey, low, high, mask);
    const cv::Moments moments = cv::moments(mask, true);
    return moments.m00 > 0.0 ? moments.m01 / moments.m00 : -1.0;
  };
  return {middle(110, 130), middle(215, 255)};
}

// One direction in every picture: the tip at the right, so the left face is below.
TEST(EdgePictureProperty, TheLeftFaceIsBelowWhereverTheTipPoints) {
  for (const double direction_rad : {0.0, 0.3, 1.5, 3.1, -1.5}) {
    for (const double offset_mm : {0.5, -0.5}) {
      const DrawnBlade blade{
          .offset_mm = offset_mm, .offset_end_mm = offset_mm, .direction_rad = direction_rad};
      const cv::Mat page = without_traces(blade);
      const cv::Range rows = strip_rows(page);
      ASSERT_GT(rows.size(), 0);
      const auto [steel, lines] = steel_and_white(page, rows, 700);
      EXPECT_EQ(lines > steel, offset_mm > 0.0) << direction_rad << ' ' << offset_mm;
      EXPECT_GT(std::abs(lines - steel), 20.0) << direction_rad << ' ' << offset_mm;
    }
  }
}

TEST(EdgePictureProperty, APhotoWithTheTipAtTheLeftIsTurned) {
  const double turned_rad = DrawnBlade{}.direction_rad + kPi;
  EXPECT_LT(difference(with_traces({}), with_traces({.direction_rad = turned_rad})), 1.5);
}

TEST(EdgePictureClosedForm, TheHeadCanBeLeftOff) {
  const AnnotatedPicture picture =
      edge_picture(test::result_of({}), test::photo_of({}), kPictureSettings);
  EXPECT_GT(picture.head_height, 130);
  const cv::Mat rest = picture.without_head();
  EXPECT_EQ(rest.rows, picture.bgr.rows - picture.head_height);
  EXPECT_EQ(share_of(rest.rowRange(0, 40), cv::Scalar(0, 79, 184)), 0.0);
}

TEST(EdgePictureBadInput, NothingSeenShowsTheWholePhoto) {
  EdgeResult result = test::result_of({});
  for (EdgeStation& station : result.stations) station.centreline_offset_mm.reset();
  const cv::Mat page = edge_picture(result, test::photo_of({}), kPictureSettings).bgr;
  EXPECT_EQ(page.cols, 1600);
  EXPECT_GT(share_of(page, cv::Scalar(40, 40, 40)), 0.3);  // the photo's ground
}

TEST(EdgePictureBadInput, AnEmptyResultIsDrawnToo) {
  EXPECT_EQ(edge_picture(EdgeResult{}, test::photo_of({}), kPictureSettings).bgr.cols, 1600);
}

TEST(EdgePictureBadInput, AShortBladeAndFewStations) {
  for (const double length_mm : {2.0, 4.0, 9.0}) {
    const DrawnBlade blade{.length_mm = length_mm, .unseen = {1}};
    EXPECT_EQ(with_traces(blade).cols, 1600) << length_mm;
  }
}

}  // namespace
}  // namespace evenbevel
