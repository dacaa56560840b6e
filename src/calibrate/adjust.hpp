#pragma once

#include <array>
#include <vector>

#include <Eigen/Geometry>

#include "evenbevel/camera.hpp"

namespace evenbevel::calibrate_detail {

struct AdjustView {
  std::vector<Point<Card>> points;
  std::vector<Eigen::Vector2d> points_px;
  std::vector<double> weights;  ///< 0: not used.
  Transform<Camera, Card> T_camera_card;
};

/// The camera's parameters and the poses together, to be fitted to the pixels.
struct Adjustment {
  CameraModel camera;
  std::vector<AdjustView> views;
  std::array<bool, kMostLensParameters> free{};  ///< In the parameters' order.
  /// Added to the cost: pull * value^2.
  std::array<double, kMostLensParameters> pull_to_zero{};

  bool is_free(int parameter) const { return free[static_cast<std::size_t>(parameter)]; }
  double pull(int parameter) const { return pull_to_zero[static_cast<std::size_t>(parameter)]; }
};

/// Seen minus projected. Huge for a point that is not in front of the camera.
std::vector<Eigen::Vector2d> residuals_px(const CameraModel& camera, const AdjustView& view);

/// Sum of weighted squared residuals plus the pull; infinity when a used point is not in front of
/// the camera.
double cost(const Adjustment& adjustment);

/// Levenberg-Marquardt with the poses eliminated (Schur complement). True when it settled.
bool adjust(Adjustment& adjustment, int most_steps);

/// Normal matrix of the camera's parameters with the poses eliminated, at the present values; rows
/// and columns of those that are not free are zero.
LensMatrix reduced_normal_matrix(const Adjustment& adjustment);

}  // namespace evenbevel::calibrate_detail
