#include <algorithm>
#include <cmath>
#include <limits>

#include "calibrate/start.hpp"
#include "evenbevel/calibrate.hpp"

namespace evenbevel {

namespace {

/// Where three points of the board lie in the picture, in shares of its diagonal: tells place,
/// size, turn and (by foreshortening) tilt apart, whichever corners were found.
std::array<double, 6> look_of(const Eigen::Matrix3d& homography,
                              const Eigen::AlignedBox2d& board_mm, cv::Size image_size) {
  const double diagonal_px = std::hypot(image_size.width, image_size.height);
  const Eigen::Vector2d points_mm[] = {board_mm.center(),
                                       board_mm.corner(Eigen::AlignedBox2d::BottomRight),
                                       board_mm.corner(Eigen::AlignedBox2d::TopLeft)};
  std::array<double, 6> look{};
  for (std::size_t i = 0; i < 3; ++i) {
    const Eigen::Vector3d q = homography * points_mm[i].homogeneous();
    look[2 * i] = q.x() / q.z() / diagonal_px;
    look[2 * i + 1] = q.y() / q.z() / diagonal_px;
  }
  return look;
}

double difference(const std::array<double, 6>& a, const std::array<double, 6>& b) {
  double sum = 0.0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += (a[i] - b[i]) * (a[i] - b[i]);
  return std::sqrt(sum);
}

}  // namespace

bool FramePicker::offer(const CalibrationView& view) {
  constexpr double kNew = 0.12;
  constexpr int kNewCells = 3;
  const std::optional<Eigen::Matrix3d> H = calibrate_detail::board_homography(view);
  if (!H) return false;
  for (const Eigen::Vector2d& p : view.points_mm) board_mm_.extend(p);
  const std::array<double, 6> look = look_of(*H, board_mm_, image_size_);
  double nearest = std::numeric_limits<double>::infinity();
  for (const auto& taken : looks_) nearest = std::min(nearest, difference(look, taken));
  CalibrationCoverage with = coverage_;
  add_coverage(with, view.points_px, image_size_);
  const double gained =
      (with.share() - coverage_.share()) * static_cast<double>(with.corners.size());
  if (nearest <= kNew && gained < kNewCells - 0.5) return false;
  coverage_ = with;
  looks_.push_back(look);
  taken_.push_back(view);
  return true;
}

}  // namespace evenbevel
