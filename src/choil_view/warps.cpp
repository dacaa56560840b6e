#include "warps.hpp"

#include <Eigen/Core>

#include "card/plane_pose.hpp"
#include "fit/dense.hpp"

namespace evenbevel::choil {
namespace {

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
  const Eigen::MatrixXd root = root_of(pose.covariance_corners);
  for (const auto& by : root.colwise()) {
    warps.push_back(warp_between(here, SectionPlane(camera, stepped(pose.T_camera_card, by))));
  }
  return warps;
}

std::vector<Warp> lens_warps(const CameraModel& camera, const FoundCard& card,
                             const PrintScale& scale, const CardPose& pose) {
  const SectionPlane here(camera, pose.T_camera_card);
  const std::vector<CardSighting> sightings = used_sightings(camera, card, scale, pose);
  std::vector<Warp> warps;
  const Eigen::MatrixXd root = root_of(covariance_or_typical(camera));
  for (const auto& by : root.colwise()) {
    if (by.isZero(0.0)) continue;
    const CameraModel other = moved_lens(camera, by);
    const Transform<Camera, Card> T =
        refine_plane_pose(other, sightings, false, pose.T_camera_card);
    warps.push_back(warp_between(here, SectionPlane(other, T)));
  }
  return warps;
}

}  // namespace evenbevel::choil
