#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include <Eigen/LU>

#include "calibrate/start.hpp"
#include "calibrate/work.hpp"
#include "evenbevel/calibrate.hpp"

namespace evenbevel {

namespace {

/// Place of the board's middle and the way from there to two of its corners, in shares of the
/// picture's diagonal: tells place, size, turn and (by foreshortening) tilt apart, whichever
/// corners were found. Tilt and size count for more than place: they are what a calibration lacks
/// first.
std::array<double, 6> look_of(const Eigen::Matrix3d& homography,
                              const Eigen::AlignedBox2d& board_mm, cv::Size image_size) {
  constexpr double kPlace = 0.5;
  constexpr double kShape = 2.0;
  const double diagonal_px = std::hypot(image_size.width, image_size.height);
  const auto seen = [&](const Eigen::Vector2d& p_mm) {
    return Eigen::Vector2d((homography * p_mm.homogeneous()).hnormalized() / diagonal_px);
  };
  const Eigen::Vector2d middle = seen(board_mm.center());
  const Eigen::Vector2d a = seen(board_mm.corner(Eigen::AlignedBox2d::BottomRight)) - middle;
  const Eigen::Vector2d b = seen(board_mm.corner(Eigen::AlignedBox2d::TopLeft)) - middle;
  return {kPlace * middle.x(), kPlace * middle.y(), kShape * a.x(),
          kShape * a.y(),      kShape * b.x(),      kShape * b.y()};
}

double difference(const std::array<double, 6>& a, const std::array<double, 6>& b) {
  double sum = 0.0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += (a[i] - b[i]) * (a[i] - b[i]);
  return std::sqrt(sum);
}

/// Median shift of the corners that both views show; empty when they share too few.
std::optional<double> shift_px(const CalibrationView& a, const CalibrationView& b) {
  std::vector<double> shifts;
  for (std::size_t i = 0; i < a.points_mm.size(); ++i) {
    for (std::size_t j = 0; j < b.points_mm.size(); ++j) {
      if (a.points_mm[i] != b.points_mm[j]) continue;
      shifts.push_back((a.points_px[i] - b.points_px[j]).norm());
      break;
    }
  }
  if (shifts.size() < 4) return std::nullopt;
  return calibrate_detail::median(std::move(shifts));
}

/// Moving: a shift that is too large for a still card, yet small enough to be the same movement. A
/// larger one is another picture of a series.
bool is_moving(const CalibrationView& before, const CalibrationView& now, cv::Size image_size) {
  constexpr double kStill = 0.001;
  constexpr double kSameMovement = 0.05;
  const double width_px = std::max(image_size.width, image_size.height);
  const std::optional<double> shift = shift_px(before, now);
  return shift && *shift > kStill * width_px && *shift < kSameMovement * width_px;
}

}  // namespace

FramePicker::Answer FramePicker::offer(const CalibrationView& view) {
  constexpr double kNew = 0.08;
  constexpr int kNewCells = 3;
  const bool moving = is_moving(before_, view, image_size_);
  before_ = view;
  if (moving) return Answer::moving;
  const std::optional<Eigen::Matrix3d> H = calibrate_detail::board_homography(view);
  if (!H) return Answer::nothing_new;
  for (const Eigen::Vector2d& p : view.points_mm) board_mm_.extend(p);
  const std::array<double, 6> look = look_of(*H, board_mm_, image_size_);
  double nearest = std::numeric_limits<double>::infinity();
  for (const auto& taken : looks_) nearest = std::min(nearest, difference(look, taken));
  CalibrationCoverage with = coverage_;
  add_coverage(with, view.points_px, image_size_);
  const double gained =
      (with.share() - coverage_.share()) * static_cast<double>(with.corners.size());
  if (nearest <= kNew && gained < kNewCells - 0.5) return Answer::nothing_new;
  coverage_ = with;
  looks_.push_back(look);
  taken_.push_back(view);
  return Answer::taken;
}

}  // namespace evenbevel
