#include "warps.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/Dense>

#include "card/plane_pose.hpp"

namespace evenbevel::choil {
namespace {

/// Columns whose outer products add up to the covariance.
template <class Vector, class Matrix>
std::vector<Vector> directions(const Matrix& covariance) {
  // Scaled to a unit diagonal first: radians, px and mm differ by many powers of ten.
  const Vector scale = covariance.diagonal().cwiseMax(1e-300).cwiseSqrt();
  const Matrix unit =
      scale.cwiseInverse().asDiagonal() * covariance * scale.cwiseInverse().asDiagonal();
  const Eigen::SelfAdjointEigenSolver<Matrix> eigen(unit);
  std::vector<Vector> out;
  for (Eigen::Index i = 0; i < scale.size(); ++i) {
    const double value = std::max(0.0, eigen.eigenvalues()[i]);
    if (value < 1e-12) continue;
    out.push_back(scale.asDiagonal() * (std::sqrt(value) * eigen.eigenvectors().col(i)));
  }
  return out;
}

Warp warp_between(const SectionPlane& from, const SectionPlane& to) {
  return [from, to](const Eigen::Vector2d& p_mm) { return to.at(from.pixel(p_mm)); };
}

std::vector<CardSighting> used_sightings(const CameraModel& camera, const FoundCard& card,
                                         const PrintScale& scale, const CardPose& pose) {
  const CardLayout& layout = card_layout(card.kind);
  std::vector<CardSighting> sightings;
  for (const CardCorner& corner : card.corners) {
    const Eigen::Vector2d& nominal = layout.corners_mm[static_cast<std::size_t>(corner.index)];
    const Point<Card> p{{nominal.x() * scale.along, nominal.y() * scale.across, 0.0}};
    const double miss = (project(camera, pose.T_camera_card * p) - corner.q_px).norm();
    if (miss <= 1.001 * pose.worst_px) sightings.push_back({p, corner.q_px});
  }
  return sightings;
}

}  // namespace

std::vector<Warp> pose_warps(const CameraModel& camera, const CardPose& pose) {
  const SectionPlane here(camera, pose.T_camera_card);
  std::vector<Warp> warps;
  for (const auto& by : directions<PoseStep>(pose.covariance_corners)) {
    warps.push_back(warp_between(here, SectionPlane(camera, stepped(pose.T_camera_card, by))));
  }
  return warps;
}

std::vector<Warp> lens_warps(const CameraModel& camera, const FoundCard& card,
                             const PrintScale& scale, const CardPose& pose) {
  const SectionPlane here(camera, pose.T_camera_card);
  const std::vector<CardSighting> sightings = used_sightings(camera, card, scale, pose);
  std::vector<Warp> warps;
  for (const auto& by : directions<LensVector>(covariance_or_typical(camera))) {
    const CameraModel other = moved_lens(camera, by);
    const Transform<Camera, Card> T =
        refine_plane_pose(other, sightings, false, pose.T_camera_card);
    warps.push_back(warp_between(here, SectionPlane(other, T)));
  }
  return warps;
}

}  // namespace evenbevel::choil
