#include "lens.hpp"

#include <Eigen/LU>

namespace evenbevel::test {

CameraModel plain_phone() {
  CameraModel camera;
  camera.width_px = 4000;
  camera.height_px = 3000;
  camera.fx_px = camera.fy_px = 3000.0;
  camera.cx_px = 1999.5;
  camera.cy_px = 1499.5;
  return camera;
}

Eigen::Vector2d lens_pixel(const CameraModel& camera, const Eigen::Vector2d& on_plane,
                           Eigen::Matrix2d* d_on_plane) {
  const double k1 = camera.distortion[0];
  const double k2 = camera.distortion[1];
  const double p1 = camera.distortion[2];
  const double p2 = camera.distortion[3];
  const double k3 = camera.distortion[4];
  const double x = on_plane.x();
  const double y = on_plane.y();
  const double r2 = x * x + y * y;
  const double radial = 1.0 + r2 * (k1 + r2 * (k2 + r2 * k3));
  const double bent_x = x * radial + 2.0 * p1 * x * y + p2 * (r2 + 2.0 * x * x);
  const double bent_y = y * radial + p1 * (r2 + 2.0 * y * y) + 2.0 * p2 * x * y;
  if (d_on_plane != nullptr) {
    const double d_radial = k1 + r2 * (2.0 * k2 + 3.0 * r2 * k3);  // by r2
    Eigen::Matrix2d& d = *d_on_plane;
    const double mixed = 2.0 * (x * y * d_radial + p1 * x + p2 * y);
    d(0, 0) = camera.fx_px * (radial + 2.0 * x * x * d_radial + 2.0 * p1 * y + 6.0 * p2 * x);
    d(0, 1) = camera.fx_px * mixed;
    d(1, 0) = camera.fy_px * mixed;
    d(1, 1) = camera.fy_px * (radial + 2.0 * y * y * d_radial + 6.0 * p1 * y + 2.0 * p2 * x);
  }
  return {camera.fx_px * bent_x + camera.cx_px, camera.fy_px * bent_y + camera.cy_px};
}

Eigen::Vector2d lens_plane(const CameraModel& camera, const Eigen::Vector2d& q_px,
                           const Eigen::Vector2d& start, int steps, Eigen::Matrix2d* d_pixel) {
  Eigen::Vector2d on_plane = start;
  Eigen::Matrix2d inverse = Eigen::Matrix2d::Identity();
  for (int step = 0; step < steps; ++step) {
    Eigen::Matrix2d forward;
    const Eigen::Vector2d miss = lens_pixel(camera, on_plane, &forward) - q_px;
    inverse = forward.inverse();
    on_plane -= inverse * miss;
  }
  if (d_pixel != nullptr) *d_pixel = inverse;
  return on_plane;
}

}  // namespace evenbevel::test
