#include "calibrate/adjust.hpp"

#include <cmath>
#include <limits>
#include <utility>

#include <Eigen/Cholesky>

namespace evenbevel::calibrate_detail {

namespace {

using Matrix6 = Eigen::Matrix<double, 6, 6>;
using Vector6 = Eigen::Matrix<double, 6, 1>;
using Matrix96 = Eigen::Matrix<double, kIntrinsics, 6>;

/// The normal equations' blocks of one view.
struct ViewBlocks {
  Matrix6 pose = Matrix6::Zero();
  Matrix96 cross = Matrix96::Zero();
  Vector6 gradient = Vector6::Zero();
};

struct NormalEquations {
  IntrinsicMatrix intrinsics = IntrinsicMatrix::Zero();
  IntrinsicVector gradient = IntrinsicVector::Zero();
  std::vector<ViewBlocks> views;
};

void add_point(const Adjustment& adjustment, const AdjustView& view, std::size_t i,
               NormalEquations& normal, ViewBlocks& blocks) {
  const double weight = view.weights[i];
  Eigen::Matrix<double, 2, 3> d_point;
  Eigen::Matrix<double, 2, kIntrinsics> J_intrinsics;
  const Eigen::Vector2d projected =
      project(adjustment.camera, view.T_camera_card * view.points[i], &d_point, &J_intrinsics);
  const Eigen::Vector2d residual = view.points_px[i] - projected;
  for (int k = 0; k < kIntrinsics; ++k) {
    if (!adjustment.free[static_cast<std::size_t>(k)]) J_intrinsics.col(k).setZero();
  }
  const Eigen::Matrix<double, 2, 6> J_pose =
      d_point * point_by_step(view.T_camera_card, view.points[i]);

  normal.intrinsics.noalias() += weight * J_intrinsics.transpose() * J_intrinsics;
  normal.gradient.noalias() += weight * J_intrinsics.transpose() * residual;
  blocks.pose.noalias() += weight * J_pose.transpose() * J_pose;
  blocks.cross.noalias() += weight * J_intrinsics.transpose() * J_pose;
  blocks.gradient.noalias() += weight * J_pose.transpose() * residual;
}

NormalEquations normal_equations(const Adjustment& adjustment) {
  NormalEquations normal;
  normal.views.resize(adjustment.views.size());
  for (std::size_t v = 0; v < adjustment.views.size(); ++v) {
    const AdjustView& view = adjustment.views[v];
    for (std::size_t i = 0; i < view.points_px.size(); ++i) {
      if (view.weights[i] > 0.0) add_point(adjustment, view, i, normal, normal.views[v]);
    }
  }
  const IntrinsicVector values = intrinsics(adjustment.camera);
  for (int k = 0; k < kIntrinsics; ++k) {
    if (!adjustment.free[static_cast<std::size_t>(k)]) continue;
    normal.intrinsics(k, k) += adjustment.pull_to_zero(k);
    normal.gradient(k) -= adjustment.pull_to_zero(k) * values(k);
  }
  return normal;
}

/// Marquardt's damping: in proportion to the diagonal. A zero diagonal (not free, no corners) gets
/// a one, which leaves that unknown where it is.
template <class Matrix>
Matrix damped(const Matrix& m, double damping) {
  Matrix result = m;
  for (Eigen::Index k = 0; k < m.rows(); ++k) {
    result(k, k) = m(k, k) > 0.0 ? m(k, k) * (1.0 + damping) : 1.0;
  }
  return result;
}

struct Step {
  IntrinsicVector intrinsics;
  std::vector<Vector6> poses;
};

Step solve(const NormalEquations& normal, double damping) {
  IntrinsicMatrix reduced = damped(normal.intrinsics, damping);
  IntrinsicVector right = normal.gradient;
  std::vector<Eigen::LDLT<Matrix6>> factors;
  factors.reserve(normal.views.size());
  for (const ViewBlocks& view : normal.views) {
    factors.emplace_back(damped(view.pose, damping));
    reduced.noalias() -= view.cross * factors.back().solve(view.cross.transpose());
    right.noalias() -= view.cross * factors.back().solve(view.gradient);
  }
  Step step;
  step.intrinsics = reduced.ldlt().solve(right);
  for (std::size_t v = 0; v < normal.views.size(); ++v) {
    const ViewBlocks& view = normal.views[v];
    step.poses.emplace_back(
        factors[v].solve(view.gradient - view.cross.transpose() * step.intrinsics));
  }
  return step;
}

Adjustment stepped(const Adjustment& adjustment, const Step& step) {
  Adjustment result = adjustment;
  set_intrinsics(result.camera, intrinsics(adjustment.camera) + step.intrinsics);
  for (std::size_t v = 0; v < result.views.size(); ++v) {
    result.views[v].T_camera_card = stepped(result.views[v].T_camera_card, step.poses[v]);
  }
  return result;
}

/// How far the step moves the projections, root of the predicted sum of squares, px.
double moved_px(const NormalEquations& normal, const Step& step) {
  double sum = step.intrinsics.dot(normal.intrinsics * step.intrinsics);
  for (std::size_t v = 0; v < normal.views.size(); ++v) {
    sum += step.poses[v].dot(normal.views[v].pose * step.poses[v]);
    sum += 2.0 * step.intrinsics.dot(normal.views[v].cross * step.poses[v]);
  }
  return std::sqrt(std::max(0.0, sum));
}

}  // namespace

IntrinsicVector intrinsics(const CameraModel& camera) {
  IntrinsicVector values;
  values << camera.fx_px, camera.fy_px, camera.cx_px, camera.cy_px, camera.distortion[0],
      camera.distortion[1], camera.distortion[2], camera.distortion[3], camera.distortion[4];
  return values;
}

void set_intrinsics(CameraModel& camera, const IntrinsicVector& values) {
  camera.fx_px = values(0);
  camera.fy_px = values(1);
  camera.cx_px = values(2);
  camera.cy_px = values(3);
  for (std::size_t k = 0; k < camera.distortion.size(); ++k) {
    camera.distortion[k] = values(static_cast<Eigen::Index>(k) + 4);
  }
}

std::vector<Eigen::Vector2d> residuals_px(const CameraModel& camera, const AdjustView& view) {
  std::vector<Eigen::Vector2d> residuals;
  residuals.reserve(view.points_px.size());
  for (std::size_t i = 0; i < view.points_px.size(); ++i) {
    const Point<Camera> p = view.T_camera_card * view.points[i];
    residuals.emplace_back(p.mm.z() > 0.0 ? Eigen::Vector2d(view.points_px[i] - project(camera, p))
                                          : Eigen::Vector2d::Constant(1e6));
  }
  return residuals;
}

double cost(const Adjustment& adjustment) {
  double sum = 0.0;
  for (const AdjustView& view : adjustment.views) {
    for (std::size_t i = 0; i < view.points_px.size(); ++i) {
      if (view.weights[i] <= 0.0) continue;
      const Point<Camera> p = view.T_camera_card * view.points[i];
      if (p.mm.z() <= 0.0) return std::numeric_limits<double>::infinity();
      sum += view.weights[i] * (view.points_px[i] - project(adjustment.camera, p)).squaredNorm();
    }
  }
  const IntrinsicVector values = intrinsics(adjustment.camera);
  for (int k = 0; k < kIntrinsics; ++k) {
    if (adjustment.free[static_cast<std::size_t>(k)]) {
      sum += adjustment.pull_to_zero(k) * values(k) * values(k);
    }
  }
  return sum;
}

bool adjust(Adjustment& adjustment, int most_steps) {
  constexpr double kSettledPx = 1e-10;  // far below any corner's noise
  constexpr double kMostDamping = 1e12;
  double damping = 1e-3;
  double best = cost(adjustment);
  if (!std::isfinite(best)) return false;
  NormalEquations normal = normal_equations(adjustment);
  for (int i = 0; i < most_steps && damping < kMostDamping;) {
    const Step step = solve(normal, damping);
    const bool sane = step.intrinsics.allFinite();
    Adjustment tried = sane ? stepped(adjustment, step) : adjustment;
    const double tried_cost = sane ? cost(tried) : std::numeric_limits<double>::infinity();
    const double moved_by = sane ? moved_px(normal, step) : 1.0;
    if (tried_cost < best) {
      adjustment = std::move(tried);
      best = tried_cost;
      if (moved_by < kSettledPx) return true;
      normal = normal_equations(adjustment);
      damping = std::max(1e-15, damping * 0.1);
      ++i;
    } else {
      if (moved_by < 1e3 * kSettledPx) return true;  // rounding decides from here on
      damping *= 10.0;
    }
  }
  return false;
}

IntrinsicMatrix reduced_normal_matrix(const Adjustment& adjustment) {
  const NormalEquations normal = normal_equations(adjustment);
  IntrinsicMatrix reduced = normal.intrinsics;
  for (const ViewBlocks& view : normal.views) {
    const Eigen::LDLT<Matrix6> factor(damped(view.pose, 0.0));
    reduced.noalias() -= view.cross * factor.solve(view.cross.transpose());
  }
  return reduced;
}

}  // namespace evenbevel::calibrate_detail
