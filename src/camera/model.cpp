#include <cassert>
#include <cmath>
#include <string>

#include <Eigen/LU>

#include "evenbevel/camera.hpp"
#include "evenbevel/error.hpp"

namespace evenbevel {
namespace {

struct Distorted {
  Eigen::Vector2d xy;
  Eigen::Matrix2d d_xy;                 ///< By the undistorted point.
  Eigen::Matrix<double, 2, 5> d_coeff;  ///< By k1 k2 p1 p2 k3.
  double radial = 1.0;                  ///< Below zero: the model has folded over.
};

/// D. C. Brown, Photogrammetric Engineering 37 (1971) 855-866, with the names and order of OpenCV.
Distorted distort(const std::array<double, 5>& coefficients, const Eigen::Vector2d& undistorted) {
  const auto [k1, k2, p1, p2, k3] = coefficients;
  const double x = undistorted.x(), y = undistorted.y();
  const double r2 = x * x + y * y, r4 = r2 * r2, r6 = r4 * r2;
  const double radial = 1.0 + k1 * r2 + k2 * r4 + k3 * r6;
  const double d_radial = 2.0 * (k1 + 2.0 * k2 * r2 + 3.0 * k3 * r4);  // by x, divided by x

  Distorted out;
  out.radial = radial;
  out.xy = {x * radial + 2.0 * p1 * x * y + p2 * (r2 + 2.0 * x * x),
            y * radial + p1 * (r2 + 2.0 * y * y) + 2.0 * p2 * x * y};
  const double cross = x * y * d_radial + 2.0 * p1 * x + 2.0 * p2 * y;
  out.d_xy << radial + x * x * d_radial + 2.0 * p1 * y + 6.0 * p2 * x, cross, cross,
      radial + y * y * d_radial + 6.0 * p1 * y + 2.0 * p2 * x;
  out.d_coeff << x * r2, x * r4, 2.0 * x * y, r2 + 2.0 * x * x, x * r6,  //
      y * r2, y * r4, r2 + 2.0 * y * y, 2.0 * x * y, y * r6;
  return out;
}

/// Newton steps from the distorted point, halved while they do not help. Empty: no solution on the
/// branch that holds the image centre.
std::optional<Eigen::Vector2d> undistort(const std::array<double, 5>& coefficients,
                                         const Eigen::Vector2d& distorted) {
  constexpr int kMostSteps = 50;
  constexpr double kClose = 1e-12;
  Eigen::Vector2d xy = distorted;
  Distorted at = distort(coefficients, xy);
  Eigen::Vector2d miss = distorted - at.xy;
  for (int step = 0; step < kMostSteps && miss.norm() > kClose; ++step) {
    if (std::abs(at.d_xy.determinant()) < 1e-9) return std::nullopt;
    const Eigen::Vector2d move = at.d_xy.inverse() * miss;
    const Eigen::Vector2d from = xy;
    double part = 1.0;
    for (int halving = 0; halving < 10; ++halving, part *= 0.5) {
      xy = from + part * move;
      at = distort(coefficients, xy);
      if ((distorted - at.xy).norm() < miss.norm()) break;
    }
    miss = distorted - at.xy;
  }
  const bool unfolded = at.d_xy.determinant() > 0.0 && at.radial > 0.0;
  if (!(miss.norm() <= kClose * (1.0 + distorted.norm())) || !unfolded) return std::nullopt;
  return xy;
}

}  // namespace

Eigen::Vector2d project(const CameraModel& camera, const Point<Camera>& p_camera) {
  return project(camera, p_camera, nullptr, nullptr);
}

Eigen::Vector2d project(const CameraModel& camera, const Point<Camera>& p_camera,
                        Eigen::Matrix<double, 2, 3>* d_point,
                        Eigen::Matrix<double, 2, CameraModel::kParameters>* d_parameters) {
  const Eigen::Vector3d& p = p_camera.mm;
  assert(p.z() > 0.0);
  const Eigen::Vector2d xy = p.head<2>() / p.z();
  const Distorted at = distort(camera.distortion, xy);
  const Eigen::Vector2d focal_px(camera.fx_px, camera.fy_px);
  if (d_point != nullptr) {
    Eigen::Matrix<double, 2, 3> d_xy;
    d_xy << 1.0, 0.0, -xy.x(), 0.0, 1.0, -xy.y();
    *d_point = focal_px.asDiagonal() * (at.d_xy * d_xy) / p.z();
  }
  if (d_parameters != nullptr) {
    d_parameters->setZero();
    (*d_parameters)(0, 0) = at.xy.x();
    (*d_parameters)(1, 1) = at.xy.y();
    (*d_parameters)(0, 2) = 1.0;
    (*d_parameters)(1, 3) = 1.0;
    d_parameters->rightCols<5>() = focal_px.asDiagonal() * at.d_coeff;
  }
  return focal_px.cwiseProduct(at.xy) + Eigen::Vector2d(camera.cx_px, camera.cy_px);
}

CameraModel moved_lens(const CameraModel& camera,
                       const Eigen::Matrix<double, CameraModel::kParameters, 1>& change) {
  CameraModel out = camera;
  out.fx_px += change(0);
  out.fy_px += change(1);
  out.cx_px += change(2);
  out.cy_px += change(3);
  for (int i = 0; i < 5; ++i) out.distortion[static_cast<std::size_t>(i)] += change(4 + i);
  return out;
}

Eigen::Vector3d ray(const CameraModel& camera, const Eigen::Vector2d& q_px) {
  const Eigen::Vector2d distorted((q_px.x() - camera.cx_px) / camera.fx_px,
                                  (q_px.y() - camera.cy_px) / camera.fy_px);
  const std::optional<Eigen::Vector2d> xy = undistort(camera.distortion, distorted);
  if (!xy) {
    throw Error("the lens model cannot be undone at pixel (" +
                    std::to_string(std::lround(q_px.x())) + ", " +
                    std::to_string(std::lround(q_px.y())) + ")",
                "calibrate again, with the card also in the corners of the picture");
  }
  return {xy->x(), xy->y(), 1.0};
}

}  // namespace evenbevel
