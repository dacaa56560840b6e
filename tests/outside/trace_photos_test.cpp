// Real photographs from Debian packages: a straight edge in front of a camera, and six tapered
// strips on a light table. Skipped where the packages are not installed.

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <string>
#include <vector>

#include <gtest/gtest.h>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "evenbevel/fit.hpp"
#include "evenbevel/trace.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {
namespace {

const char* const kStraightEdge = "/usr/share/visp-images-data/ViSP-images/line";
const char* const kStrips = "/usr/share/doc/opencv-doc/examples/data/pca_test1.jpg";

/// Grey levels along a segment, one sample a pixel's width, by cubic interpolation.
std::vector<ProfileSample> profile_across(const cv::Mat& picture, const Eigen::Vector2d& middle,
                                          const Eigen::Vector2d& across, int half_window) {
  cv::Mat map_x(1, 2 * half_window + 1, CV_32F);
  cv::Mat map_y(1, 2 * half_window + 1, CV_32F);
  for (int i = -half_window; i <= half_window; ++i) {
    const Eigen::Vector2d q = middle + i * across;
    map_x.at<float>(0, i + half_window) = static_cast<float>(q.x());
    map_y.at<float>(0, i + half_window) = static_cast<float>(q.y());
  }
  cv::Mat line;
  cv::remap(picture, line, map_x, map_y, cv::INTER_CUBIC, cv::BORDER_REPLICATE);
  std::vector<ProfileSample> samples;
  for (int i = -half_window; i <= half_window; ++i) {
    samples.push_back(
        {.t_px = static_cast<double>(i), .value = line.at<uchar>(0, i + half_window) / 255.0});
  }
  return samples;
}

/// Column of the steepest place of a row, or -1 where nothing is steep.
int steepest_column(const cv::Mat& picture, int row) {
  int best = -1;
  int most = 40;
  for (int column = 10; column < picture.cols - 10; ++column) {
    const int rise =
        std::abs(picture.at<uchar>(row, column + 1) - picture.at<uchar>(row, column - 1));
    if (rise > most) {
      most = rise;
      best = column;
    }
  }
  return best;
}

// visp-images-data 3.5.0 (GPL-2, used in place): frames of one straight edge. Reference, computed
// with another finder (parabola on the log of a Gaussian gradient): 246 of 246
// rows, 51.0425, 51.0443 and 51.0434 degrees, residual 0.0498, 0.0488 and 0.0492 px RMS.
TEST(TraceOutside, ARealStraightEdgeIsStraightToATwentiethOfAPixel) {
  if (!std::filesystem::exists(kStraightEdge)) GTEST_SKIP() << "visp-images-data not installed";
  const double expected_degrees[3] = {51.0425, 51.0443, 51.0434};
  for (int frame = 1; frame <= 3; ++frame) {
    const std::string path =
        std::string(kStraightEdge) + "/image.000" + std::to_string(frame) + ".pgm";
    const cv::Mat picture = cv::imread(path, cv::IMREAD_GRAYSCALE);
    ASSERT_FALSE(picture.empty());
    std::vector<Eigen::Vector2d> points;
    for (int row = 5; row < picture.rows - 5; ++row) {
      const int start = steepest_column(picture, row);
      if (start < 0) continue;
      const std::vector<ProfileSample> samples =
          profile_across(picture, Eigen::Vector2d(start, row), Eigen::Vector2d::UnitX(), 7);
      const ProfileFit fit = fit_step(samples, 0.0, 1.0);
      if (fit.converged) points.emplace_back(start + fit.model.positions_px[0], row);
    }
    EXPECT_GE(points.size(), 240U);
    const LineFit line = fit_line_robust(points);
    EXPECT_GE(line.used, 240);
    double sum_squares = 0.0;
    for (const Eigen::Vector2d& point : points) sum_squares += std::pow(line.distance(point), 2);
    EXPECT_LT(std::sqrt(sum_squares / static_cast<double>(points.size())), 0.06)
        << "frame " << frame;
    EXPECT_NEAR(std::abs(degrees(line.direction_rad)), expected_degrees[frame - 1], 0.05);
  }
}

struct Strip {
  bool lies = false;  ///< Along the picture's rows rather than its columns.
  cv::RotatedRect box;
  double length_px = 0.0, width_px = 0.0;
  double bend_px = 0.0;   ///< RMS of the centre line about a straight one.
  double waist_px = 0.0;  ///< Narrowest width in the middle part.
};

std::vector<cv::RotatedRect> strip_boxes(const cv::Mat& picture) {
  // The strips are holes in the light; such an outline runs through the light pixels around.
  cv::Mat light;
  cv::threshold(picture, light, 111, 255, cv::THRESH_BINARY);  // Otsu's threshold of this photo
  std::vector<std::vector<cv::Point>> outlines;
  cv::findContours(light, outlines, cv::RETR_LIST, cv::CHAIN_APPROX_NONE);
  std::vector<cv::RotatedRect> boxes;
  for (const std::vector<cv::Point>& outline : outlines) {
    const cv::RotatedRect box = cv::minAreaRect(outline);
    const float longest = std::max(box.size.width, box.size.height);
    const float shortest = std::min(box.size.width, box.size.height);
    if (longest > 300.0F && longest < 420.0F && shortest < 80.0F) boxes.push_back(box);
  }
  return boxes;
}

/// Follows both borders of a dark strip across its box and fits the middle.
Strip measure_strip(const cv::Mat& picture, const cv::RotatedRect& box) {
  cv::Point2f corner[4];
  box.points(corner);
  Eigen::Vector2d along(corner[1].x - corner[0].x, corner[1].y - corner[0].y);
  Eigen::Vector2d across(corner[2].x - corner[1].x, corner[2].y - corner[1].y);
  if (along.norm() < across.norm()) std::swap(along, across);
  Strip strip;
  strip.box = box;
  strip.lies = std::abs(along.x()) > std::abs(along.y());
  strip.length_px = along.norm();
  const double half_width = 0.5 * across.norm();
  along.normalize();
  across.normalize();
  const Eigen::Vector2d centre(box.center.x, box.center.y);
  std::vector<Eigen::Vector2d> middles;
  std::vector<double> widths;
  for (int s = static_cast<int>(-0.35 * strip.length_px); s < 0.35 * strip.length_px; s += 4) {
    const Eigen::Vector2d here = centre + s * along;
    const int reach = static_cast<int>(half_width) + 12;
    const std::vector<ProfileSample> samples = profile_across(picture, here, across, reach);
    // First guesses: the outermost places where the profile passes the threshold.
    double first = -reach;
    double last = reach;
    for (const ProfileSample& sample : samples) {
      if (sample.value > 0.43) continue;
      if (first == -reach) first = sample.t_px;
      last = sample.t_px;
    }
    const ProfileFit fit = fit_strip(samples, first - 0.5, last + 0.5, 1.2);
    if (!fit.converged) continue;
    const double a = fit.model.positions_px[0];
    const double b = fit.model.positions_px[1];
    middles.push_back(here + 0.5 * (a + b) * across);
    widths.push_back(b - a);
  }
  const LineFit line = fit_line_robust(middles);
  double sum_squares = 0.0;
  for (const Eigen::Vector2d& middle : middles) sum_squares += std::pow(line.distance(middle), 2);
  strip.bend_px = std::sqrt(sum_squares / static_cast<double>(middles.size()));
  strip.width_px = *std::max_element(widths.begin(), widths.end());
  const auto third = static_cast<std::ptrdiff_t>(widths.size() / 3);
  strip.waist_px = *std::min_element(widths.begin() + third, widths.end() - third);
  return strip;
}

// opencv-doc 4.6.0, pca_test1.jpg: six alike, double-tapered strips. Minimum-area rectangles of the
// five lying ones, bottom to top: 378.19 x 57.71, 374.96 x 56.75, 369.09 x 55.32, 364.64 x 53.27,
// 358.55 x 52.44 px (computed): the length falls by 5 %, so the camera is tilted.
TEST(TraceOutside, TaperedStripsShowTheirPerspective) {
  if (!std::filesystem::exists(kStrips)) GTEST_SKIP() << "opencv-doc not installed";
  const cv::Mat picture = cv::imread(kStrips, cv::IMREAD_GRAYSCALE);
  ASSERT_FALSE(picture.empty());
  const std::vector<cv::RotatedRect> boxes = strip_boxes(picture);
  ASSERT_EQ(boxes.size(), 6U);
  std::vector<Strip> lying;
  for (const cv::RotatedRect& box : boxes) {
    const Strip strip = measure_strip(picture, box);
    if (strip.lies) lying.push_back(strip);
  }
  ASSERT_EQ(lying.size(), 5U);
  std::sort(lying.begin(), lying.end(),
            [](const Strip& a, const Strip& b) { return a.box.center.y > b.box.center.y; });
  const double length[5] = {378.19, 374.96, 369.09, 364.64, 358.55};
  const double width[5] = {57.71, 56.75, 55.32, 53.27, 52.44};
  for (std::size_t i = 0; i < 5; ++i) {
    EXPECT_NEAR(lying[i].length_px, length[i], 0.5);
    // A rectangle round the whole outline is as wide as the widest place, and a little more where
    // the strip bends; its outline through the light pixels adds 1 to 2 px.
    EXPECT_NEAR(lying[i].width_px, width[i], 2.5);
    EXPECT_LT(lying[i].bend_px, 0.02 * length[i]);
    EXPECT_LT(lying[i].waist_px, lying[i].width_px);
    if (i > 0) {
      EXPECT_LT(lying[i].width_px, lying[i - 1].width_px) << "perspective, strip " << i;
    }
  }
  // Widths shrink with lengths, from the bottom of the picture to its top.
  EXPECT_NEAR(lying[4].width_px / lying[0].width_px, width[4] / width[0], 0.03);
}

}  // namespace
}  // namespace evenbevel
