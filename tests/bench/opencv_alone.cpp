#include "opencv_alone.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include <opencv2/aruco.hpp>
#include <opencv2/calib3d.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "evenbevel/card.hpp"

namespace evenbevel::test {
namespace {

struct Lens {
  cv::Mat matrix, distortion;
};

Lens lens_of(const std::string& camera_file) {
  const cv::FileStorage file(camera_file, cv::FileStorage::READ);
  Lens lens;
  file["camera_matrix"] >> lens.matrix;
  file["distortion_coefficients"] >> lens.distortion;
  return lens;
}

std::vector<cv::Point2f> straightened(const std::vector<cv::Point2f>& points, const Lens& lens) {
  std::vector<cv::Point2f> out;
  cv::undistortPoints(points, out, lens.matrix, lens.distortion, {}, lens.matrix);
  return out;
}

/// From the straightened picture to mm on the card. Empty: too few markers.
cv::Mat on_card(const cv::Mat& grey, const Lens& lens) {
  std::vector<std::vector<cv::Point2f>> corners;
  std::vector<int> ids;
  cv::aruco::detectMarkers(grey, cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000),
                           corners, ids);
  const CardLayout& card = card_layout(CardKind::edge);
  std::vector<cv::Point2f> px, mm;
  for (std::size_t i = 0; i < ids.size(); ++i) {
    const int index = ids[i] - card.first_id;
    if (index < 0 || index >= static_cast<int>(card.marker_cells.size())) continue;
    const Eigen::Vector2d top_left =
        card.cell_top_left_mm(card.marker_cells[static_cast<std::size_t>(index)]);
    cv::Point2f centre;
    for (const cv::Point2f& q : straightened(corners[i], lens)) centre += 0.25F * q;
    px.push_back(centre);
    mm.emplace_back(static_cast<float>(top_left.x() + 0.5 * card.pitch_mm),
                    static_cast<float>(top_left.y() - 0.5 * card.pitch_mm));
  }
  if (px.size() < 4) return {};
  return cv::findHomography(px, mm, cv::RANSAC, 0.5);
}

/// A straight piece along the lane.
struct Piece {
  double x_mm, y_mm, slope, length_mm;
};

/// All pieces run with the blade, but for noise: their middle slope, and their heights at x = 0.
void lay_along_blade(std::vector<Piece>& pieces) {
  if (pieces.empty()) return;
  const auto middle = pieces.begin() + static_cast<std::ptrdiff_t>(pieces.size() / 2);
  std::nth_element(pieces.begin(), middle, pieces.end(),
                   [](const Piece& a, const Piece& b) { return a.slope < b.slope; });
  const double slope = middle->slope;
  for (Piece& piece : pieces) piece.y_mm -= slope * piece.x_mm;
}

std::vector<Piece> pieces_in_lane(const cv::Mat& grey, const Lens& lens, const cv::Mat& to_card) {
  constexpr double kMostSlope = 0.02;
  cv::Mat borders;
  cv::Canny(grey, borders, 50, 150);
  std::vector<cv::Vec4i> found;
  cv::HoughLinesP(borders, found, 1.0, CV_PI / 720.0, 150, 120.0, 12.0);
  const Eigen::AlignedBox2d lane = card_layout(CardKind::edge).lane_mm();
  std::vector<Piece> pieces;
  for (const cv::Vec4i& line : found) {
    const std::vector<cv::Point2f> ends = {
        cv::Point2f(static_cast<float>(line[0]), static_cast<float>(line[1])),
        cv::Point2f(static_cast<float>(line[2]), static_cast<float>(line[3]))};
    std::vector<cv::Point2f> mm;
    cv::perspectiveTransform(straightened(ends, lens), mm, to_card);
    const double run = mm[1].x - mm[0].x, rise = mm[1].y - mm[0].y;
    const double y = 0.5 * (mm[0].y + mm[1].y);
    if (std::abs(rise) > kMostSlope * std::abs(run)) continue;
    if (y > lane.min().y() + 1.0 && y < lane.max().y() - 1.0)
      pieces.push_back({0.5 * (mm[0].x + mm[1].x), y, rise / run, std::abs(run)});
  }
  lay_along_blade(pieces);
  return pieces;
}

/// A border: pieces of about one height as one.
std::vector<Piece> borders_of(std::vector<Piece> pieces) {
  constexpr double kTogetherMm = 0.1;
  std::sort(pieces.begin(), pieces.end(),
            [](const Piece& a, const Piece& b) { return a.y_mm < b.y_mm; });
  std::vector<Piece> borders;
  for (const Piece& piece : pieces) {
    if (borders.empty() || piece.y_mm - borders.back().y_mm > kTogetherMm) {
      borders.push_back(piece);
      continue;
    }
    Piece& all = borders.back();
    const double length = all.length_mm + piece.length_mm;
    all.y_mm = (all.y_mm * all.length_mm + piece.y_mm * piece.length_mm) / length;
    all.length_mm = length;
  }
  return borders;
}

struct Pair {
  double low_mm, high_mm, length_mm;

  double middle_mm() const { return 0.5 * (low_mm + high_mm); }
};

/// The longest two borders between `least` and `most` apart, both within the limits.
std::optional<Pair> longest_pair(const std::vector<Piece>& borders, double least_mm, double most_mm,
                                 double from_mm, double to_mm) {
  std::optional<Pair> best;
  for (const Piece& low : borders) {
    for (const Piece& high : borders) {
      const double apart = high.y_mm - low.y_mm;
      if (apart < least_mm || apart > most_mm || low.y_mm < from_mm || high.y_mm > to_mm) continue;
      const double length = low.length_mm + high.length_mm;
      if (!best || length > best->length_mm) best = Pair{low.y_mm, high.y_mm, length};
    }
  }
  return best;
}

}  // namespace

std::optional<double> offset_by_opencv_alone(const std::string& photo,
                                             const std::string& camera_file, double thickness_mm) {
  const cv::Mat bgr = cv::imread(photo, cv::IMREAD_COLOR | cv::IMREAD_IGNORE_ORIENTATION);
  cv::Mat grey;
  cv::cvtColor(bgr, grey, cv::COLOR_BGR2GRAY);
  const Lens lens = lens_of(camera_file);
  const cv::Mat to_card = on_card(grey, lens);
  if (to_card.empty()) return std::nullopt;
  const std::vector<Piece> borders = borders_of(pieces_in_lane(grey, lens, to_card));
  const auto flats = longest_pair(borders, 0.95 * thickness_mm, 1.12 * thickness_mm, -1e9, 1e9);
  if (!flats) return std::nullopt;
  constexpr double kLeastLandMm = 0.15, kMostLandMm = 1.0;
  const double quarter = 0.25 * (flats->high_mm - flats->low_mm);
  const auto land = longest_pair(borders, kLeastLandMm, kMostLandMm, flats->low_mm + quarter,
                                 flats->high_mm - quarter);
  if (!land) return std::nullopt;
  const double scale = thickness_mm / (flats->high_mm - flats->low_mm);
  return -scale * (land->middle_mm() - flats->middle_mm());  // The left face lies below.
}

}  // namespace evenbevel::test
