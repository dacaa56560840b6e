#include "report/face_map.hpp"

#include <vector>

#include <Eigen/LU>
#include <Eigen/QR>

namespace evenbevel {
namespace {

struct Pair {
  Eigen::Vector2d card_mm, blade_mm;
};

Eigen::Affine2d fitted(const std::vector<Pair>& pairs) {
  const auto rows = static_cast<Eigen::Index>(pairs.size());
  Eigen::MatrixX3d from(rows, 3);
  Eigen::MatrixX2d to(rows, 2);
  for (Eigen::Index i = 0; i < rows; ++i) {
    const Pair& pair = pairs[static_cast<std::size_t>(i)];
    from.row(i) << pair.card_mm.transpose(), 1.0;
    to.row(i) = pair.blade_mm.transpose();
  }
  const Eigen::Matrix<double, 3, 2> solution = from.colPivHouseholderQr().solve(to);
  Eigen::Affine2d map = Eigen::Affine2d::Identity();
  map.matrix().topRows<2>() = solution.transpose();
  return map;
}

}  // namespace

Eigen::Vector2d FaceMap::card_of(const Eigen::Vector2d& q_px) const {
  const Eigen::Isometry3d card_from_camera = camera_from_card_.inverse();
  const Eigen::Vector3d origin = card_from_camera.translation();
  const Eigen::Vector3d direction = card_from_camera.linear() * ray(camera_, q_px);
  return (origin + (height_mm_ - origin.z()) / direction.z() * direction).head<2>();
}

Eigen::Vector2d FaceMap::xz_of(const Eigen::Vector2d& q_px) const {
  return blade_from_card_ * card_of(q_px);
}

Eigen::Vector2d FaceMap::px_of(const Eigen::Vector2d& xz_mm) const {
  const Eigen::Vector2d p_card = card_from_blade_ * xz_mm;
  return project(camera_,
                 {camera_from_card_ * Eigen::Vector3d(p_card.x(), p_card.y(), height_mm_)});
}

std::optional<FaceMap> FaceMap::of(const SideResult& result, const FacePhoto& photo,
                                   double thickness_mm) {
  constexpr std::size_t kLeast = 10;
  FaceMap map;
  map.camera_ = *photo.camera;
  map.height_mm_ = thickness_mm;
  for (const FaceLook& look : result.faces) {
    if (look.face != photo.face) continue;
    map.camera_ = lens_in_photo(*photo.camera, look.pose);
    map.camera_from_card_ = look.pose.T_camera_card.matrix;
  }
  std::vector<Pair> pairs;
  for (const FaceTrace& trace : result.traces) {
    const std::size_t count = std::min(trace.points_px.size(), trace.points_mm.size());
    for (std::size_t i = 0; trace.face == photo.face && i < count; ++i) {
      pairs.push_back({map.card_of(trace.points_px[i]), trace.points_mm[i]});
    }
  }
  if (pairs.size() < kLeast) return std::nullopt;
  map.blade_from_card_ = fitted(pairs);
  const double scale = std::abs(map.blade_from_card_.linear().determinant());
  if (!(scale > 0.25) || !(scale < 4.0)) return std::nullopt;  // all on one line, or no such plane
  map.card_from_blade_ = map.blade_from_card_.inverse();
  return map;
}

}  // namespace evenbevel
