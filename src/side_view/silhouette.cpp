#include "silhouette.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <vector>

#include <Eigen/Dense>
#include <opencv2/imgproc.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"

namespace evenbevel::side {
namespace {

constexpr double kStepMm = 0.4;
constexpr double kRimMm = 0.8;         // The lane's printed border and its blur.
constexpr double kBesideLaneMm = 7.0;  // Bands along the lane's sides that are mostly bare.
constexpr double kSteelLevel = 0.2;    // Of the lane's brightness.

struct Lane {
  Grid grid;
  FacePlane plane;
  cv::Mat picture;

  Eigen::Vector2d card(int row, int column) const {
    return plane.card({grid.left_mm + column * grid.step_mm, grid.top_mm - row * grid.step_mm});
  }
};

Lane see_lane(const cv::Mat& pixels, const CameraModel& camera,
              const Transform<Camera, Card>& T_camera_card) {
  const Eigen::AlignedBox2d lane = card_layout(CardKind::side).lane_mm();
  Grid grid{lane.min().x() + kRimMm, lane.max().y() - kRimMm, kStepMm, 0, 0};
  grid.columns = static_cast<int>((lane.sizes().x() - 2.0 * kRimMm) / kStepMm);
  grid.rows = static_cast<int>((lane.sizes().y() - 2.0 * kRimMm) / kStepMm);
  const FacePlane plane(camera, T_camera_card, {0.0, 0.0}, {1.0, 0.0}, {0.0, 1.0}, 0.0);
  return {grid, plane, sampled_coarsely(pixels, plane, grid)};
}

struct Sample {
  Eigen::Vector2d card_mm;
  Eigen::Vector3f light;
};

std::vector<Sample> samples_beside(const Lane& lane) {
  const int band = static_cast<int>(kBesideLaneMm / kStepMm);
  std::vector<Sample> samples;
  for (int row = 0; row < lane.grid.rows; row += 2) {
    if (row >= band && row < lane.grid.rows - band) continue;
    for (int column = 0; column < lane.grid.columns; column += 3) {
      const Eigen::Vector3f light = light_at(lane.picture, row, column);
      if (light.maxCoeff() > 0.0F) samples.push_back({lane.card(row, column), light});
    }
  }
  return samples;
}

/// a + b x + c y through the samples, twice trimmed.
Eigen::Vector3d fitted_level(const std::vector<Sample>& samples) {
  std::vector<double> levels;
  levels.reserve(samples.size());
  for (const Sample& sample : samples) levels.push_back(static_cast<double>(sample.light[1]));
  const double middle = median(levels);
  Eigen::Vector3d level(middle, 0.0, 0.0);
  double within = 0.5 * middle;
  for (int round = 0; round < 3; ++round) {
    Eigen::Matrix3d normal = Eigen::Matrix3d::Identity() * 1e-9;
    Eigen::Vector3d right = Eigen::Vector3d::Zero();
    for (std::size_t i = 0; i < samples.size(); ++i) {
      const Eigen::Vector3d row(1.0, samples[i].card_mm.x(), samples[i].card_mm.y());
      if (std::abs(levels[i] - level.dot(row)) > within) continue;
      normal += row * row.transpose();
      right += row * levels[i];
    }
    level = normal.ldlt().solve(right);
    within = 0.25 * middle;
  }
  return level;
}

LaneColour lane_colour(const Lane& lane) {
  constexpr double kGreen = 1.5;  // Linear green over red of a coloured print, at the least.
  const std::vector<Sample> samples = samples_beside(lane);
  if (samples.size() < 100) {
    throw Error("the card's lane lies outside the picture",
                "take the photo from farther away, so that the whole card is in it");
  }
  std::vector<double> ratios;
  ratios.reserve(samples.size());
  for (const Sample& sample : samples) {
    ratios.push_back(static_cast<double>(sample.light[2]) /
                     std::max(1e-4, static_cast<double>(sample.light[1])));
  }
  LaneColour colour;
  colour.red_per_green = median(ratios);
  colour.coloured = colour.red_per_green * kGreen < 1.0;
  colour.level = fitted_level(samples);
  return colour;
}

cv::Mat steel_mask(const Lane& lane, const LaneColour& colour) {
  cv::Mat mask(lane.grid.rows, lane.grid.columns, CV_8UC1);
  for (int row = 0; row < mask.rows; ++row) {
    for (int column = 0; column < mask.cols; ++column) {
      const Eigen::Vector3f light = light_at(lane.picture, row, column);
      const double level = std::max(1e-4, colour.level_at(lane.card(row, column)));
      const double green = static_cast<double>(light[1]);
      const double steel = colour.coloured
                               ? static_cast<double>(light[2]) - colour.red_per_green * green
                               : green - level;
      mask.at<uchar>(row, column) = steel > kSteelLevel * level ? 255 : 0;
    }
  }
  const cv::Mat small = cv::getStructuringElement(cv::MORPH_ELLIPSE, {3, 3});
  const cv::Mat large = cv::getStructuringElement(cv::MORPH_ELLIPSE, {11, 11});
  cv::morphologyEx(mask, mask, cv::MORPH_OPEN, small);
  cv::copyMakeBorder(mask, mask, 8, 8, 8, 8, cv::BORDER_REPLICATE);
  cv::morphologyEx(mask, mask, cv::MORPH_CLOSE, large);
  return mask(cv::Rect(8, 8, lane.grid.columns, lane.grid.rows)).clone();
}

[[noreturn]] void fail_without_blade() {
  throw Error("no blade was found in the card's lane",
              "lay the blade flat on the lane of the side card, with a clear border of lane on "
              "both sides, and light it so that it is brighter than the lane");
}

/// The largest piece of the mask, its holes filled.
cv::Mat largest_piece(const cv::Mat& mask) {
  constexpr double kLeastMm2 = 300.0;
  std::vector<std::vector<cv::Point>> pieces;
  cv::findContours(mask, pieces, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_NONE);
  const auto largest = std::max_element(
      pieces.begin(), pieces.end(),
      [](const auto& a, const auto& b) { return cv::contourArea(a) < cv::contourArea(b); });
  if (largest == pieces.end() || cv::contourArea(*largest) * kStepMm * kStepMm < kLeastMm2)
    fail_without_blade();
  cv::Mat piece = cv::Mat::zeros(mask.size(), CV_8UC1);
  cv::drawContours(piece, pieces, static_cast<int>(largest - pieces.begin()), 255, cv::FILLED);
  return piece;
}

void require_inside_lane(const cv::Mat& piece) {
  constexpr double kMostMm = 2.0;
  for (const auto& [row, side] : {std::pair{0, "upper"}, std::pair{piece.rows - 1, "lower"}}) {
    const double over_mm = cv::countNonZero(piece.row(row)) * kStepMm;
    if (over_mm <= kMostMm) continue;
    throw Error("the blade lies over the markers: " + length_words(std::floor(over_mm), 0) +
                    " of it cross the lane's " + side + " border",
                "lay it along the lane so that all of it but the handle lies on the lane, and take "
                "the photo again");
  }
}

/// The blade's extent across, every mm along a direction.
struct Section {
  double along_mm = 0.0, low_mm = 0.0, high_mm = 0.0;
};

std::vector<Section> sections(const std::vector<Eigen::Vector2d>& points,
                              const Eigen::Vector2d& along) {
  const Eigen::Vector2d up(-along.y(), along.x());
  double first = 1e9, last = -1e9;
  for (const Eigen::Vector2d& p : points) {
    first = std::min(first, p.dot(along));
    last = std::max(last, p.dot(along));
  }
  std::vector<Section> found(static_cast<std::size_t>(last - first) + 1, {0.0, 1e9, -1e9});
  for (const Eigen::Vector2d& p : points) {
    Section& section = found[static_cast<std::size_t>(p.dot(along) - first)];
    section.low_mm = std::min(section.low_mm, p.dot(up));
    section.high_mm = std::max(section.high_mm, p.dot(up));
  }
  for (std::size_t i = 0; i < found.size(); ++i)
    found[i].along_mm = first + static_cast<double>(i) + 0.5;
  std::erase_if(found, [](const Section& s) { return s.high_mm < s.low_mm; });
  return found;
}

double height_near(const std::vector<Section>& found, bool at_front) {
  constexpr std::size_t kFromEnd = 6;
  const std::size_t i = at_front ? kFromEnd : found.size() - 1 - kFromEnd;
  return found[i].high_mm - found[i].low_mm;
}

LineFit side_line(const std::vector<Section>& found, bool high) {
  std::vector<Eigen::Vector2d> points;
  const std::size_t count = found.size() / 2;
  for (std::size_t i = 3; i < count; ++i) {
    points.emplace_back(found[i].along_mm, high ? found[i].high_mm : found[i].low_mm);
  }
  return fit_line_robust(points);
}

Eigen::Vector2d main_direction(const std::vector<Eigen::Vector2d>& points) {
  Eigen::Vector2d mean = Eigen::Vector2d::Zero();
  for (const Eigen::Vector2d& p : points) mean += p;
  mean /= static_cast<double>(points.size());
  Eigen::Matrix2d scatter = Eigen::Matrix2d::Zero();
  for (const Eigen::Vector2d& p : points) scatter += (p - mean) * (p - mean).transpose();
  return Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d>(scatter).eigenvectors().col(1);
}

/// The tip's distance from the lines of both sides, drawn on from the handle's half.
struct TipAside {
  double low_mm = 0.0, high_mm = 0.0;
};

/// @param found  From the handle to the tip.
TipAside tip_aside(const std::vector<Section>& found, const LineFit& low, const LineFit& high) {
  const Section& end = found[found.size() - 2];
  const Eigen::Vector2d tip(end.along_mm, 0.5 * (end.low_mm + end.high_mm));
  return {std::abs(low.distance(tip)), std::abs(high.distance(tip))};
}

RoughBlade rough_blade(const std::vector<Eigen::Vector2d>& points) {
  constexpr std::size_t kLeastMm = 40;
  Eigen::Vector2d along = main_direction(points);
  std::vector<Section> found = sections(points, along);
  if (found.size() < kLeastMm) fail_without_blade();
  if (height_near(found, true) < height_near(found, false)) {
    along = -along;
    found = sections(points, along);
  }
  for (int round = 0; round < 2; ++round) {  // the belly turns the main direction: straighten it
    const LineFit low = side_line(found, false), high = side_line(found, true);
    const TipAside aside = tip_aside(found, low, high);
    const Eigen::Vector2d v = (aside.high_mm < aside.low_mm ? high : low).direction();
    const Eigen::Vector2d up(-along.y(), along.x());
    along = (v.x() * along + v.y() * up).normalized();
    found = sections(points, along);
  }
  const LineFit low = side_line(found, false), high = side_line(found, true);
  const TipAside aside = tip_aside(found, low, high);
  const bool spine_high = aside.high_mm < aside.low_mm;
  const Eigen::Vector2d left(-along.y(), along.x());
  RoughBlade blade;
  blade.along = along;
  blade.up = spine_high ? left : Eigen::Vector2d(-left);
  // A tang is narrower than the blade: the edge is where the blade reaches farthest from the spine.
  double lowest = 1e9, highest = -1e9;
  for (const Section& section : found) {
    lowest = std::min(lowest, section.low_mm), highest = std::max(highest, section.high_mm);
  }
  const double first = found.front().along_mm - 0.5;
  blade.handle_mm = first * along + (spine_high ? lowest : highest) * left;
  blade.length_mm = found.back().along_mm + 0.5 - first;
  blade.height_mm = highest - lowest;
  blade.spine_sure =
      std::abs(aside.high_mm - aside.low_mm) / std::max(1.0, aside.high_mm + aside.low_mm);
  return blade;
}

bool inside(const Lane& lane, const cv::Mat& pixels, const Eigen::Vector2d& card_mm) {
  constexpr double kClearMm = 1.0;
  const Eigen::AlignedBox2d box = card_layout(CardKind::side).lane_mm();
  if (std::abs(card_mm.x() - box.center().x()) > 0.5 * box.sizes().x() - kRimMm - kClearMm)
    return false;
  const Eigen::Vector2d q = lane.plane.pixel(card_mm);
  return q.x() > 4 && q.y() > 4 && q.x() < pixels.cols - 5 && q.y() < pixels.rows - 5;
}

}  // namespace

Silhouette find_silhouette(const cv::Mat& pixels, const CameraModel& camera,
                           const Transform<Camera, Card>& T_camera_card, double upper_mm) {
  const Lane lane = see_lane(pixels, camera, T_camera_card);
  Silhouette result;
  result.lane = lane_colour(lane);
  const cv::Mat piece = largest_piece(steel_mask(lane, result.lane));
  require_inside_lane(piece);
  std::vector<Eigen::Vector2d> points;
  for (int row = 0; row < piece.rows; ++row) {
    for (int column = 0; column < piece.cols; ++column) {
      if (piece.at<uchar>(row, column) == 0) continue;
      points.push_back(lane.plane.moved_to(upper_mm, lane.card(row, column)));
    }
  }
  result.blade = rough_blade(points);
  RoughBlade& blade = result.blade;
  const Eigen::Vector2d middle = blade.handle_mm + 0.5 * blade.height_mm * blade.up;
  blade.handle_seen = inside(lane, pixels, middle);
  blade.tip_seen = inside(lane, pixels, blade.handle_mm + blade.length_mm * blade.along);
  return result;
}

}  // namespace evenbevel::side
