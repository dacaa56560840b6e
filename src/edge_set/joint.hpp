#pragma once

#include <array>
#include <span>
#include <vector>

#include "evenbevel/camera.hpp"
#include "evenbevel/card.hpp"
#include "evenbevel/edge_view.hpp"
#include "normal_equations.hpp"
#include "space_curves.hpp"

namespace evenbevel::edges {

/// Where the unknowns stand that are no curves: for each photo its pose (a rotation vector applied
/// on the left in the camera frame, then a translation) and how its lens has moved (focal length,
/// relative; principal point), then the lens of all, then the printed scale.
struct Unknowns {
  static constexpr int kPose = 6, kMotion = 3;
  int photos = 0;
  int lens_parameters = 0;

  int pose(int photo) const { return (kPose + kMotion) * photo; }
  int motion(int photo) const { return pose(photo) + kPose; }
  int lens() const { return (kPose + kMotion) * photos; }
  int print() const { return lens() + lens_parameters; }
  int curves() const { return print() + 2; }
};

/// All photos of one clamping at once: card poses, lens, printed scale, and the borders' curves in
/// space, by weighted least squares on the card's corners and the traces in px.
struct JointSolution {
  BladeDirections blade;
  SpaceCurves curves;
  std::vector<CameraModel> cameras;  ///< A photo each, as its T_camera_card.
  std::vector<Transform<Camera, Card>> T_camera_card;
  Eigen::VectorXd unknowns;
  Eigen::MatrixXd covariance;
  std::array<Eigen::MatrixXd, kCauses> parts;  ///< Add up to the covariance.
  /// How far each photo's borders lie from those of all, px, common to the whole blade; and the
  /// largest of a photo over its standard uncertainty.
  std::vector<double> worst_shift_over_u;

  double value(const Row& row) const { return dot(row, unknowns); }
  double u(const Row& row) const;
  double u(const Row& row, Cause cause) const;
};

/// @param results  Of `edge_view`, tips alike, with poses and corners; at least one.
/// @param camera  The camera file's: each photo's own lens is found with it as prior.
/// @throws Error  Too few readings that the photos share.
JointSolution solve_jointly(std::span<const EdgeResult> results, const CameraModel& camera,
                            const EdgeSettings& settings);

/// Where a pixel's ray meets the plane at this height above the card: (s, t).
Eigen::Vector2d on_plane(const CameraModel& camera, const Transform<Camera, Card>& T_camera_card,
                         const BladeDirections& blade, const Eigen::Vector2d& q_px, double z_mm);

/// The same in a photo by itself, through the lens that it was found to have.
Eigen::Vector2d on_plane(const CameraModel& file, const EdgeResult& result,
                         const BladeDirections& blade, const Eigen::Vector2d& q_px, double z_mm);

/// From the direction of the first photo's traces, s toward the tip.
BladeDirections blade_directions(const EdgeResult& result, const CameraModel& camera);

}  // namespace evenbevel::edges
