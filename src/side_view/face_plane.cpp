#include "face_plane.hpp"

namespace evenbevel::side {

FacePlane::FacePlane(const CameraModel& camera, const Transform<Camera, Card>& T_camera_card,
                     const Eigen::Vector2d& origin_mm, const Eigen::Vector2d& along,
                     const Eigen::Vector2d& up, double height_mm)
    : camera_(camera),
      T_camera_card_(T_camera_card),
      origin_(origin_mm),
      along_(along),
      up_(up),
      height_mm_(height_mm) {
  const Eigen::Vector3d centre = T_camera_card.inverse().matrix.translation();
  const Eigen::Vector2d foot = centre.head<2>() - origin_;
  eye_ = {foot.dot(along_), foot.dot(up_), centre.z()};
}

void FacePlane::lean(double drop_mm, double end_mm) { lean_ = -drop_mm / end_mm; }

Eigen::Vector2d FacePlane::card(const Eigen::Vector2d& xz_mm) const {
  return origin_ + xz_mm.x() * along_ + xz_mm.y() * up_;
}

Eigen::Vector2d FacePlane::pixel(const Eigen::Vector2d& xz_mm, double height_mm) const {
  const Eigen::Vector2d xy = card(xz_mm);
  const Point<Card> p_card{{xy.x(), xy.y(), height_mm}};
  return project(camera_, T_camera_card_ * p_card);
}

Eigen::Vector2d FacePlane::pixel(const Eigen::Vector2d& xz_mm) const {
  return pixel(xz_mm, upper(xz_mm.x()));
}

Eigen::Vector2d FacePlane::moved_to(double height_mm, const Eigen::Vector2d& xz_mm) const {
  const double share = (eye_.z() - height_mm) / (eye_.z() - upper(xz_mm.x()));
  return eye_.head<2>() + share * (xz_mm - eye_.head<2>());
}

double FacePlane::px_per_mm(const Eigen::Vector2d& xz_mm) const {
  constexpr double kReachMm = 2.0;
  const Eigen::Vector2d half(0.0, 0.5 * kReachMm);
  return (pixel(xz_mm + half) - pixel(xz_mm - half)).norm() / kReachMm;
}

FacePlane FacePlane::with(const CameraModel& camera,
                          const Transform<Camera, Card>& T_camera_card) const {
  FacePlane other(camera, T_camera_card, origin_, along_, up_, height_mm_);
  other.lean_ = lean_;
  return other;
}

Eigen::Vector2d FacePlane::at_pixel(const Eigen::Vector2d& q_px) const {
  const Eigen::Vector3d direction = T_camera_card_.matrix.linear().transpose() * ray(camera_, q_px);
  const Eigen::Vector2d flat = direction.head<2>();
  const Eigen::Vector3d towards(flat.dot(along_), flat.dot(up_), direction.z());
  // eye + length * towards on height_mm_ + lean_ * x.
  const double length =
      (height_mm_ + lean_ * eye_.x() - eye_.z()) / (towards.z() - lean_ * towards.x());
  return eye_.head<2>() + length * towards.head<2>();
}

}  // namespace evenbevel::side
