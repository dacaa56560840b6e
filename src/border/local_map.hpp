#pragma once

#include <Eigen/Core>

namespace evenbevel {

/// Second-order expansion, about one pixel, of what maps the picture to a plane: exact enough over
/// a few mm, and quick.
class LocalMap {
 public:
  /// @param at       Gives the plane's coordinates of a pixel.
  /// @param reach_px  How far out, along the picture's rows and columns, it is fitted.
  template <typename Function>
  LocalMap(const Function& at, const Eigen::Vector2d& centre_px, const Eigen::Vector2d& reach_px)
      : centre_(centre_px) {
    const double ru = reach_px.x(), rv = reach_px.y();
    const auto f = [&](double u, double v) -> Eigen::Vector2d {
      return at(Eigen::Vector2d(centre_px + Eigen::Vector2d(u, v)));
    };
    const Eigen::Vector2d f00 = f(0, 0), fp0 = f(ru, 0), fm0 = f(-ru, 0);
    const Eigen::Vector2d f0p = f(0, rv), f0m = f(0, -rv), fpp = f(ru, rv), fmm = f(-ru, -rv);
    constant_ = f00;
    u_ = (fp0 - fm0) / (2 * ru);
    v_ = (f0p - f0m) / (2 * rv);
    uu_ = (fp0 + fm0 - 2 * f00) / (2 * ru * ru);
    vv_ = (f0p + f0m - 2 * f00) / (2 * rv * rv);
    uv_ = (fpp + fmm - fp0 - fm0 - f0p - f0m + 2 * f00) / (2 * ru * rv);
  }

  Eigen::Vector2d operator()(double x_px, double y_px) const {
    const double u = x_px - centre_.x(), v = y_px - centre_.y();
    return constant_ + u * u_ + v * v_ + u * u * uu_ + u * v * uv_ + v * v * vv_;
  }

 private:
  Eigen::Vector2d centre_, constant_, u_, v_, uu_, vv_, uv_;
};

}  // namespace evenbevel
