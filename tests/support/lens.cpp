#include "lens.hpp"

#include <vector>

#include <Eigen/LU>
#include <opencv2/calib3d.hpp>

namespace evenbevel::test {
namespace {

bool is_fisheye(const CameraModel& camera) { return camera.lens.model().name() == "fisheye"; }

cv::Matx33d camera_matrix(const CameraModel& camera) {
  const Eigen::Vector2d &f = camera.focal_px, &c = camera.centre_px;
  return {f.x(), 0, c.x(), 0, f.y(), c.y(), 0, 0, 1};
}

cv::Vec4d fisheye_coefficients(const CameraModel& camera) {
  return {camera.lens[0], camera.lens[1], camera.lens[2], camera.lens[3]};
}

Eigen::Vector2d fisheye_pixel(const CameraModel& camera, const Eigen::Vector2d& on_plane) {
  const std::vector<cv::Point2d> from{{on_plane.x(), on_plane.y()}};
  std::vector<cv::Point2d> to;
  cv::fisheye::distortPoints(from, to, camera_matrix(camera), fisheye_coefficients(camera));
  return {to[0].x, to[0].y};
}

Eigen::Vector2d fisheye_plane(const CameraModel& camera, const Eigen::Vector2d& q_px) {
  const std::vector<cv::Point2d> from{{q_px.x(), q_px.y()}};
  std::vector<cv::Point2d> to;
  cv::fisheye::undistortPoints(from, to, camera_matrix(camera), fisheye_coefficients(camera));
  return {to[0].x, to[0].y};
}

}  // namespace

CameraModel plain_phone() {
  CameraModel camera;
  camera.width_px = 4000;
  camera.height_px = 3000;
  camera.focal_px.setConstant(3000.0);
  camera.centre_px = {1999.5, 1499.5};
  return camera;
}

Eigen::Vector2d lens_pixel(const CameraModel& camera, const Eigen::Vector2d& on_plane,
                           Eigen::Matrix2d* d_on_plane) {
  if (is_fisheye(camera)) return fisheye_pixel(camera, on_plane);
  const double k1 = camera.lens[0];
  const double k2 = camera.lens[1];
  const double p1 = camera.lens[2];
  const double p2 = camera.lens[3];
  const double k3 = camera.lens[4];
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
    d(0, 0) = camera.focal_px.x() * (radial + 2.0 * x * x * d_radial + 2.0 * p1 * y + 6.0 * p2 * x);
    d(0, 1) = camera.focal_px.x() * mixed;
    d(1, 0) = camera.focal_px.y() * mixed;
    d(1, 1) = camera.focal_px.y() * (radial + 2.0 * y * y * d_radial + 6.0 * p1 * y + 2.0 * p2 * x);
  }
  return {camera.focal_px.x() * bent_x + camera.centre_px.x(),
          camera.focal_px.y() * bent_y + camera.centre_px.y()};
}

Eigen::Vector2d lens_plane(const CameraModel& camera, const Eigen::Vector2d& q_px,
                           const Eigen::Vector2d& start, int steps, Eigen::Matrix2d* d_pixel) {
  if (is_fisheye(camera)) return fisheye_plane(camera, q_px);
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
