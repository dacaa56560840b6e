#pragma once

#include <array>
#include <optional>

#include <Eigen/Core>
#include <opencv2/core/mat.hpp>

#include "evenbevel/edge_view.hpp"
#include "evenbevel/photo.hpp"

namespace evenbevel {

/// The blade's own coordinates in a photo, for display: s along the blade to the right and t
/// across it downward, both in photo px, t = 0 on a smooth curve through the middle of the edge.
/// The blade is turned level with its tip to the right, never mirrored, from the picture held
/// upright: its edge points up, so the left face is the lower one.
class BladeLine {
 public:
  /// Empty when too few stations were seen to draw a line through.
  static std::optional<BladeLine> through(const EdgeResult& result, const Photo& photo);

  Eigen::Vector2d strip_of(const Eigen::Vector2d& stored_px) const;  ///< (s, t).
  Eigen::Vector2d stored_of(const Eigen::Vector2d& strip_px) const;

  double s_of_x(double x_mm) const { return polynomial(s_of_x_, x_mm); }
  double x_of_s(double s_px) const { return polynomial(x_of_s_, s_px); }

  /// The photo along the blade, straight, at the photo's own resolution: column j, row i show
  /// s = s_from + j, t = t_from + i. CV_8UC3, BGR.
  cv::Mat strip(const cv::Mat& stored, double s_from, double t_from, cv::Size size) const;

 private:
  using Cubic = std::array<double, 4>;
  static double polynomial(const Cubic& c, double x) {
    return c[0] + x * (c[1] + x * (c[2] + x * c[3]));
  }
  static Cubic fitted(const std::vector<Eigen::Vector2d>& points, int degree);
  double bend(double s_px) const { return polynomial(bend_, s_px / length_px_); }

  Eigen::Matrix2d turn_ = Eigen::Matrix2d::Identity();  // strip = turn * (stored - origin)
  Eigen::Vector2d origin_px_ = Eigen::Vector2d::Zero();
  double length_px_ = 1.0;
  Cubic bend_{}, s_of_x_{}, x_of_s_{};
};

}  // namespace evenbevel
