#pragma once

#include <array>
#include <vector>

#include <Eigen/Geometry>

#include "evenbevel/camera.hpp"

namespace evenbevel::calibrate_detail {

constexpr int kIntrinsics = CameraModel::kParameters;
using IntrinsicVector = Eigen::Matrix<double, kIntrinsics, 1>;
using IntrinsicMatrix = Eigen::Matrix<double, kIntrinsics, kIntrinsics>;

struct AdjustView {
  std::vector<Point<Card>> points;
  std::vector<Eigen::Vector2d> points_px;
  std::vector<double> weights;  ///< 0: not used.
  Transform<Camera, Card> T_camera_card;
};

/// Intrinsics and poses together, to be fitted to the pixels.
struct Adjustment {
  CameraModel camera;
  std::vector<AdjustView> views;
  std::array<bool, kIntrinsics> free{};
  IntrinsicVector pull_to_zero = IntrinsicVector::Zero();  ///< Added to the cost: pull * value^2.
};

IntrinsicVector intrinsics(const CameraModel& camera);
void set_intrinsics(CameraModel& camera, const IntrinsicVector& values);

/// Seen minus projected. Huge for a point that is not in front of the camera.
std::vector<Eigen::Vector2d> residuals_px(const CameraModel& camera, const AdjustView& view);

/// Sum of weighted squared residuals plus the pull; infinity when a used point is not in front of
/// the camera.
double cost(const Adjustment& adjustment);

/// Levenberg-Marquardt with the poses eliminated (Schur complement). True when it settled.
bool adjust(Adjustment& adjustment, int most_steps);

/// Normal matrix of the intrinsics with the poses eliminated, at the present values; rows and
/// columns of intrinsics that are not free are zero.
IntrinsicMatrix reduced_normal_matrix(const Adjustment& adjustment);

}  // namespace evenbevel::calibrate_detail
