// edge_view on borders that are a real photograph's: blur, noise and unevenness of a real camera.
// Skipped where the package is not installed.

#include <cmath>
#include <filesystem>
#include <string>
#include <vector>

#include <gtest/gtest.h>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "edge_checks.hpp"

namespace evenbevel::outside {
namespace {

// visp-images-data 3.5.0 (GPL-2, used in place): one straight edge between black and white, seen by
// a real camera that moves.
std::string edge_file(int number) {
  return cv::format("/usr/share/visp-images-data/ViSP-images/line/image.%04d.pgm", number);
}

#define NEED_PHOTOGRAPHS() \
  if (!std::filesystem::exists(edge_file(1))) GTEST_SKIP() << "visp-images-data not installed"

/// The edge in its photo, found with OpenCV alone: in each row the centroid of the gradient of the
/// smoothed picture, through all of them cv::fitLine.
struct PhotoEdge {
  cv::Mat grey;  ///< CV_32F, 0 on the dark side to 1 on the bright one.
  cv::Point2d middle, along, to_bright;
  double half_length_px = 0.0;
};

cv::Point2d row_place(const cv::Mat& gradient, int row) {
  cv::Point most;
  cv::minMaxLoc(cv::abs(gradient.row(row)), nullptr, nullptr, nullptr, &most);
  double sum = 0.0, moment = 0.0;
  for (int column = std::max(0, most.x - 6); column <= std::min(gradient.cols - 1, most.x + 6);
       ++column) {
    const double weight = std::abs(gradient.at<float>(row, column));
    sum += weight, moment += weight * column;
  }
  return {moment / sum, static_cast<double>(row)};
}

double level_beside(const cv::Mat& grey, const PhotoEdge& edge, double side) {
  double sum = 0.0;
  int count = 0;
  for (int s = -80; s <= 80; ++s) {
    for (int d = 10; d <= 30; ++d) {
      const cv::Point at = edge.middle + s * edge.along + side * d * edge.to_bright;
      sum += grey.at<float>(at), ++count;
    }
  }
  return sum / count;
}

PhotoEdge photo_edge(int number) {
  PhotoEdge edge;
  cv::Mat grey, smooth, gradient;
  cv::imread(edge_file(number), cv::IMREAD_GRAYSCALE).convertTo(grey, CV_32F, 1.0 / 255.0);
  cv::pow(grey, 2.2, grey);  // A camera's codes: back to light, roughly.
  cv::GaussianBlur(grey, smooth, cv::Size(0, 0), 1.0);
  cv::Sobel(smooth, gradient, CV_32F, 1, 0);
  std::vector<cv::Point2f> points;
  for (int row = 20; row < grey.rows - 20; ++row) points.emplace_back(row_place(gradient, row));
  cv::Vec4f line;
  cv::fitLine(points, line, cv::DIST_HUBER, 0, 0.001, 0.001);
  edge.along = {line[0], line[1]};
  edge.middle = {line[2], line[3]};
  edge.to_bright = {-edge.along.y, edge.along.x};
  if (cv::mean(gradient)[0] * edge.to_bright.x < 0.0) {
    edge.to_bright = -edge.to_bright, edge.along = -edge.along;
  }
  const double dark = level_beside(grey, edge, -1.0), bright = level_beside(grey, edge, 1.0);
  edge.grey = (grey - dark) / (bright - dark);
  edge.half_length_px = 0.5 * cv::norm(points.back() - points.front()) - 30.0;
  return edge;
}

/// The photo's edge pixel for pixel, turned and put in place; along the blade it runs to and fro.
BorderLook look_of(const PhotoEdge& edge) {
  return [edge](cv::Point2d at, double) {
    const double turn_px = 4.0 * edge.half_length_px;
    const double round = at.x - turn_px * std::floor(at.x / turn_px);
    const double s = std::abs(round - 0.5 * turn_px) - edge.half_length_px;
    const cv::Point2d q = edge.middle + s * edge.along + at.y * edge.to_bright;
    const int x = cvFloor(q.x), y = cvFloor(q.y);
    const double right = q.x - x, down = q.y - y;
    const cv::Mat& g = edge.grey;
    return (1.0 - down) * ((1.0 - right) * g.at<float>(y, x) + right * g.at<float>(y, x + 1)) +
           down * ((1.0 - right) * g.at<float>(y + 1, x) + right * g.at<float>(y + 1, x + 1));
  };
}

// Another finder (rows, log-parabola on a Gaussian gradient, orthogonal fit) saw this edge at
// 51.0425 degrees.
TEST(EdgeOnPhotographsOutside, TheEdgeOfThePhotographLiesWhereAnotherFinderSawIt) {
  NEED_PHOTOGRAPHS();
  const PhotoEdge edge = photo_edge(1);
  EXPECT_NEAR(std::atan(std::abs(edge.along.y / edge.along.x)) * 180.0 / 3.14159265, 51.0425, 0.05);
}

/// A twentieth of a pixel: the edges are straight to 0.05 px RMS (same
/// finder), 0.0033 mm at 15 px/mm, each of the four borders made of them.
void expect_read(const EdgePicture& picture, double truth_mm) {
  const EdgeResult result = measure(picture, settings_of(3.2, Stage::ground));
  ASSERT_TRUE(result.centreline_offset_mm);
  EXPECT_NEAR(result.centreline_offset_mm->value, truth_mm, 0.0035);
  EXPECT_LE(std::abs(result.centreline_offset_mm->value - truth_mm),
            U95(*result.centreline_offset_mm));
  EXPECT_GE(result.coverage, 0.9);
}

TEST(EdgeOnPhotographsOutside, ARealPhotographsEdgeAsRimsAndLandIsRead) {
  NEED_PHOTOGRAPHS();
  EdgePicture picture;
  picture.tilt_rad = {0.03, 0.02, 0.03};
  picture.borders = ground_edge(3.2, 0.50, 0.081, 4.0);
  for (Border& border : picture.borders) border.look = look_of(photo_edge(1));
  expect_read(picture, 0.081);
}

// Each border of the four from another photograph, with noise and unevenness of its own.
TEST(EdgeOnPhotographsOutside, EdgesOfFourPhotographsAreRead) {
  NEED_PHOTOGRAPHS();
  EdgePicture picture;
  picture.tilt_rad = {-0.02, 0.03, -0.02};
  picture.borders = ground_edge(3.2, 0.45, -0.044, 4.0);
  int number = 2;
  for (Border& border : picture.borders) border.look = look_of(photo_edge(number++));
  expect_read(picture, -0.044);
}

}  // namespace
}  // namespace evenbevel::outside
