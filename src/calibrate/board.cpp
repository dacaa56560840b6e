#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>

#include "evenbevel/calibrate.hpp"
#include "evenbevel/trace.hpp"

namespace evenbevel {

namespace {

/// Pairs of corners one pitch apart: the borders between cells run along them.
std::vector<std::pair<std::size_t, std::size_t>> neighbours(const CalibrationView& view) {
  double pitch = std::numeric_limits<double>::infinity();
  for (std::size_t j = 1; j < view.points_mm.size(); ++j) {
    for (std::size_t i = 0; i < j; ++i) {
      pitch = std::min(pitch, (view.points_mm[i] - view.points_mm[j]).norm());
    }
  }
  std::vector<std::pair<std::size_t, std::size_t>> pairs;
  for (std::size_t j = 1; j < view.points_mm.size(); ++j) {
    for (std::size_t i = 0; i < j; ++i) {
      if ((view.points_mm[i] - view.points_mm[j]).norm() < 1.2 * pitch) pairs.emplace_back(i, j);
    }
  }
  return pairs;
}

double bilinear(const cv::Mat& grey, double x, double y) {
  const int left = std::clamp(static_cast<int>(std::floor(x)), 0, grey.cols - 2);
  const int top = std::clamp(static_cast<int>(std::floor(y)), 0, grey.rows - 2);
  const double dx = std::clamp(x - left, 0.0, 1.0);
  const double dy = std::clamp(y - top, 0.0, 1.0);
  const auto* row = grey.ptr<uchar>(top);
  const auto* below = grey.ptr<uchar>(top + 1);
  return (1.0 - dy) * ((1.0 - dx) * row[left] + dx * row[left + 1]) +
         dy * ((1.0 - dx) * below[left] + dx * below[left + 1]);
}

/// Across the border from a to b at its middle, averaged along it. The reach stays clear of the
/// markers, which keep an eighth of a cell from the border.
std::vector<ProfileSample> across_border(const cv::Mat& grey, const Eigen::Vector2d& a,
                                         const Eigen::Vector2d& b) {
  constexpr double kReach = 0.11;
  constexpr double kStepPx = 0.5;
  const double length = (b - a).norm();
  const Eigen::Vector2d across = Eigen::Vector2d(-(b - a).y(), (b - a).x()) / length;
  const int steps = static_cast<int>(std::max(3.0, kReach * length) / kStepPx);
  std::vector<ProfileSample> samples;
  for (int k = -steps; k <= steps; ++k) {
    double sum = 0.0;
    int count = 0;
    for (int percent = 35; percent <= 65; percent += 3, ++count) {
      const Eigen::Vector2d q = a + 0.01 * percent * (b - a) + k * kStepPx * across;
      sum += linear_light(bilinear(grey, q.x(), q.y()) / 255.0);
    }
    samples.push_back({k * kStepPx, sum / count, 1.0});
  }
  return samples;
}

/// Chessboards are looked for in a picture of moderate size: the search slows down with its square.
struct Shrunken {
  cv::Mat grey;
  double scale = 1.0;
};

Shrunken shrunken(const cv::Mat& grey) {
  constexpr double kLongest = 1600.0;
  const double scale = std::max(1.0, std::max(grey.cols, grey.rows) / kLongest);
  if (scale == 1.0) return {grey, 1.0};
  Shrunken result;
  cv::resize(grey, result.grey, {}, 1.0 / scale, 1.0 / scale, cv::INTER_AREA);
  result.scale = static_cast<double>(grey.cols) / result.grey.cols;
  return result;
}

std::vector<cv::Point2f> rough_corners(const cv::Mat& grey, const Chessboard& board) {
  const Shrunken small = shrunken(grey);
  std::vector<cv::Point2f> corners;
  const bool found = cv::findChessboardCorners(
      small.grey, cv::Size(board.columns, board.rows), corners,
      cv::CALIB_CB_ADAPTIVE_THRESH | cv::CALIB_CB_NORMALIZE_IMAGE | cv::CALIB_CB_FAST_CHECK);
  if (!found) return {};
  for (cv::Point2f& q : corners) {
    q.x = static_cast<float>((q.x + 0.5) * small.scale - 0.5);
    q.y = static_cast<float>((q.y + 0.5) * small.scale - 0.5);
  }
  return corners;
}

}  // namespace

CalibrationView card_view(const std::string& name, const FoundCard& card, const PrintScale& scale) {
  CalibrationView view;
  view.name = name;
  const CardLayout& layout = card_layout(card.kind);
  for (const CardCorner& corner : card.corners) {
    const Eigen::Vector2d& nominal = layout.corners_mm[static_cast<std::size_t>(corner.index)];
    view.points_mm.emplace_back(nominal.x() * scale.along, nominal.y() * scale.across);
    view.points_px.push_back(corner.q_px);
  }
  return view;
}

int corner_half_window(double smallest_spacing_px) {
  constexpr double kShare = 0.36;
  constexpr int kMost = 16;  // a border that bends under the lens is straight this far
  return std::clamp(static_cast<int>(std::floor(kShare * smallest_spacing_px)), 2, kMost);
}

double smallest_spacing_px(const CalibrationView& view) {
  double smallest = std::numeric_limits<double>::infinity();
  for (std::size_t j = 1; j < view.points_px.size(); ++j) {
    for (std::size_t i = 0; i < j; ++i) {
      smallest = std::min(smallest, (view.points_px[i] - view.points_px[j]).norm());
    }
  }
  return smallest;
}

std::optional<CalibrationView> find_chessboard(const std::string& name, const cv::Mat& grey,
                                               const Chessboard& board,
                                               std::optional<int> half_window) {
  std::vector<cv::Point2f> corners = rough_corners(grey, board);
  if (corners.empty()) return std::nullopt;
  CalibrationView view;
  view.name = name;
  for (const cv::Point2f& q : corners) view.points_px.emplace_back(q.x, q.y);
  const int half = half_window.value_or(corner_half_window(smallest_spacing_px(view)));
  cv::cornerSubPix(grey, corners, cv::Size(half, half), cv::Size(-1, -1),
                   cv::TermCriteria(cv::TermCriteria::COUNT | cv::TermCriteria::EPS, 100, 1e-4));
  for (std::size_t i = 0; i < corners.size(); ++i) {
    view.points_px[i] = {corners[i].x, corners[i].y};
    const int column = static_cast<int>(i) % board.columns;
    const int row = static_cast<int>(i) / board.columns;
    view.points_mm.emplace_back((column - 0.5 * (board.columns - 1)) * board.square_mm,
                                (0.5 * (board.rows - 1) - row) * board.square_mm);
  }
  return view;
}

std::optional<double> board_blur_px(const cv::Mat& grey, const CalibrationView& view) {
  constexpr std::size_t kEnough = 40;
  constexpr std::size_t kFewest = 5;
  const auto pairs = neighbours(view);
  const std::size_t stride = std::max<std::size_t>(1, pairs.size() / kEnough);
  std::vector<double> blurs;
  for (std::size_t k = 0; k < pairs.size(); k += stride) {
    const std::vector<ProfileSample> samples =
        across_border(grey, view.points_px[pairs[k].first], view.points_px[pairs[k].second]);
    const ProfileFit fit = fit_step(samples, 0.0, 1.0);
    if (fit.converged) blurs.push_back(fit.model.blur_px);
  }
  if (blurs.size() < kFewest) return std::nullopt;
  const auto middle = blurs.begin() + static_cast<std::ptrdiff_t>(blurs.size() / 2);
  std::nth_element(blurs.begin(), middle, blurs.end());
  return *middle;
}

}  // namespace evenbevel
