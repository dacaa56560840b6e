#include "markers.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include <opencv2/aruco.hpp>
#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>

#include "evenbevel/practice_strip.hpp"
#include "marker_bits.hpp"
#include "practice_marks.hpp"

namespace evenbevel {
namespace {

constexpr int kSmallSide_px = 1000;          // long side of the first, shrunken copy
constexpr double kReadableMarker_px = 24.0;  // of smaller ones some are missed
constexpr std::size_t kEnoughMarkers = 8;

struct RawMarkers {
  std::vector<int> ids;
  std::vector<std::vector<cv::Point2f>> corners;  // of the full picture
  double side_px = 0.0;                           // median, in the shrunken copy
};

cv::Ptr<cv::aruco::DetectorParameters> detector_parameters() {
  cv::Ptr<cv::aruco::DetectorParameters> parameters = cv::aruco::DetectorParameters::create();
  parameters->adaptiveThreshWinSizeMin = 9;
  parameters->adaptiveThreshWinSizeMax = 25;
  parameters->adaptiveThreshWinSizeStep = 16;
  parameters->minMarkerPerimeterRate = 0.03;
  parameters->cornerRefinementMethod = cv::aruco::CORNER_REFINE_NONE;
  return parameters;
}

cv::Mat shrunken(const cv::Mat& grey, int shrink) {
  if (shrink == 1) return grey;
  // Whole blocks only, so that the scale is exactly `shrink`.
  const cv::Size small(grey.cols / shrink, grey.rows / shrink);
  cv::Mat copy;
  cv::resize(grey(cv::Rect(0, 0, small.width * shrink, small.height * shrink)), copy, small, 0, 0,
             cv::INTER_AREA);
  return copy;
}

double median_side_px(const std::vector<std::vector<cv::Point2f>>& corners) {
  std::vector<double> sides;
  sides.reserve(corners.size());
  for (const std::vector<cv::Point2f>& quad : corners) {
    sides.push_back(std::sqrt(std::abs(cv::contourArea(quad))));
  }
  if (sides.empty()) return 0.0;
  const auto middle = sides.begin() + static_cast<std::ptrdiff_t>(sides.size() / 2);
  std::nth_element(sides.begin(), middle, sides.end());
  return *middle;
}

RawMarkers read_markers(const cv::Mat& grey, int shrink) {
  RawMarkers raw;
  static const cv::Ptr<cv::aruco::Dictionary> dictionary =
      cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000);
  cv::aruco::detectMarkers(shrunken(grey, shrink), dictionary, raw.corners, raw.ids,
                           detector_parameters());
  raw.side_px = median_side_px(raw.corners);
  for (std::vector<cv::Point2f>& quad : raw.corners) {
    for (cv::Point2f& q : quad) {
      q = (q + cv::Point2f(0.5F, 0.5F)) * shrink - cv::Point2f(0.5F, 0.5F);
    }
  }
  return raw;
}

RawMarkers read_markers(const cv::Mat& grey) {
  const int long_side = std::max(grey.cols, grey.rows);
  const int shrink =
      std::max(1, static_cast<int>(std::lround(static_cast<double>(long_side) / kSmallSide_px)));
  RawMarkers first = read_markers(grey, shrink);
  const bool enough = first.ids.size() >= kEnoughMarkers && first.side_px >= kReadableMarker_px;
  if (enough || shrink == 1) return first;
  RawMarkers second = read_markers(grey, std::max(1, shrink / 2));
  return second.ids.size() > first.ids.size() ? second : first;
}

std::optional<CardLayout::Cell> cell_of(const CardLayout& card, int id) {
  const int index = id - card.first_id;
  if (index < 0 || index >= static_cast<int>(card.marker_cells.size())) return std::nullopt;
  return card.marker_cells[static_cast<std::size_t>(index)];
}

Eigen::Vector2d centre_px(const CardMarker& marker) {
  return 0.25 * (marker.corners_px[0] + marker.corners_px[1] + marker.corners_px[2] +
                 marker.corners_px[3]);
}

CardMarkers of_kind(const RawMarkers& raw, const CardLayout& card) {
  CardMarkers found;
  found.kind = card.kind;
  for (std::size_t i = 0; i < raw.ids.size(); ++i) {
    const std::optional<CardLayout::Cell> cell = cell_of(card, raw.ids[i]);
    if (!cell) continue;
    CardMarker marker;
    marker.cell = *cell;
    for (std::size_t k = 0; k < 4; ++k) {
      marker.corners_px[k] = Eigen::Vector2d(raw.corners[i][k].x, raw.corners[i][k].y);
    }
    found.markers.push_back(marker);
  }
  return found;
}

double side_px(const CardMarker& marker) {
  return (marker.corners_px[2] - marker.corners_px[0]).norm() / std::sqrt(2.0);
}

// A false reading lands anywhere; the card's own ones follow one homography but for the lens's
// distortion, which is far less than half a cell.
void drop_strays(CardMarkers& found) {
  if (found.markers.size() < 5) return;
  std::vector<cv::Point2f> card_cells, picture_px;
  std::vector<double> sides;
  for (const CardMarker& marker : found.markers) {
    const Eigen::Vector2d q_px = centre_px(marker);
    card_cells.emplace_back(static_cast<float>(marker.cell.column),
                            static_cast<float>(marker.cell.row));
    picture_px.emplace_back(static_cast<float>(q_px.x()), static_cast<float>(q_px.y()));
    sides.push_back(side_px(marker));
  }
  const double half_cell_px = 0.5 * *std::min_element(sides.begin(), sides.end()) / kMarkerShare;
  cv::Mat inliers;
  if (cv::findHomography(card_cells, picture_px, cv::RANSAC, half_cell_px, inliers).empty()) return;
  std::vector<CardMarker> kept;
  for (std::size_t i = 0; i < found.markers.size(); ++i) {
    if (inliers.at<uchar>(static_cast<int>(i)) != 0) kept.push_back(found.markers[i]);
  }
  found.markers = std::move(kept);
}

}  // namespace

std::array<Eigen::Vector2d, 4> marker_corners_mm(const CardLayout& card, CardLayout::Cell cell) {
  const double half_mm = 0.5 * kMarkerShare * card.pitch_mm;
  const Eigen::Vector2d centre =
      card.cell_top_left_mm(cell) + 0.5 * card.pitch_mm * Eigen::Vector2d(1.0, -1.0);
  return {centre + half_mm * Eigen::Vector2d(-1, 1), centre + half_mm * Eigen::Vector2d(1, 1),
          centre + half_mm * Eigen::Vector2d(1, -1), centre + half_mm * Eigen::Vector2d(-1, -1)};
}

std::vector<CardMarkers> find_card_markers(const cv::Mat& grey) {
  const RawMarkers raw = read_markers(grey);
  std::vector<CardMarkers> cards;
  for (const CardKind kind : {CardKind::lens, CardKind::edge, CardKind::side, CardKind::heel}) {
    CardMarkers found = of_kind(raw, card_layout(kind));
    drop_strays(found);
    if (!found.markers.empty()) cards.push_back(std::move(found));
  }
  return cards;
}

std::vector<PracticeMark> find_practice_marks(const cv::Mat& grey) {
  const RawMarkers raw = read_markers(grey);
  std::vector<PracticeMark> marks;
  for (std::size_t i = 0; i < raw.ids.size(); ++i) {
    const bool tip_end = raw.ids[i] == kPracticeTipMark;
    if (!tip_end && raw.ids[i] != kPracticeHandleMark) continue;
    PracticeMark& mark = marks.emplace_back(PracticeMark{.tip_end = tip_end});
    for (const cv::Point2f& q : raw.corners[i]) mark.centre_px += 0.25 * Eigen::Vector2d(q.x, q.y);
  }
  return marks;
}

}  // namespace evenbevel
