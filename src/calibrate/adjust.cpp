#include "calibrate/adjust.hpp"

#include <cmath>
#include <limits>
#include <optional>
#include <utility>

#include <Eigen/Core>

#include "fit/dense.hpp"
#include "fit/descent.hpp"

namespace evenbevel::calibrate_detail {

namespace {

using Matrix6 = Eigen::Matrix<double, 6, 6>;

/// The normal equations' blocks of one view.
struct ViewBlocks {
  Matrix6 pose = Matrix6::Zero();
  Eigen::MatrixXd cross;  ///< Lens by pose.
  PoseStep gradient = PoseStep::Zero();
};

struct NormalEquations {
  Eigen::MatrixXd lens;
  Eigen::VectorXd gradient;
  std::vector<ViewBlocks> views;
};

/// @param sums  Of the lens's parameters, then the pose's.
void add_point(const Adjustment& adjustment, const AdjustView& view, std::size_t i,
               NormalSums& sums) {
  Eigen::Matrix<double, 2, 3> d_point;
  LensJacobian J_lens;
  const Eigen::Vector2d projected =
      project(adjustment.camera, view.T_camera_card * view.points[i], &d_point, &J_lens);
  const Eigen::Vector2d residual = view.points_px[i] - projected;
  for (int k = 0; k < J_lens.cols(); ++k) {
    if (!adjustment.is_free(k)) J_lens.col(k).setZero();
  }
  const Eigen::Matrix<double, 2, 6> J_pose =
      d_point * point_by_step(view.T_camera_card, view.points[i]);
  Eigen::Matrix2Xd J(2, J_lens.cols() + 6);
  J << J_lens, J_pose;
  sums.add(J, residual, view.weights[i]);
}

NormalEquations normal_equations(const Adjustment& adjustment) {
  const int n = parameter_count(adjustment.camera);
  NormalEquations normal{
      .lens = Eigen::MatrixXd::Zero(n, n), .gradient = Eigen::VectorXd::Zero(n), .views = {}};
  for (const AdjustView& view : adjustment.views) {
    NormalSums sums(n + 6);
    for (std::size_t i = 0; i < view.points_px.size(); ++i) {
      if (view.weights[i] > 0.0) add_point(adjustment, view, i, sums);
    }
    normal.lens += sums.A.topLeftCorner(n, n);
    normal.gradient += sums.b.head(n);
    normal.views.push_back({.pose = sums.A.bottomRightCorner<6, 6>(),
                            .cross = sums.A.topRightCorner(n, 6),
                            .gradient = sums.b.tail<6>()});
  }
  const LensVector values = parameters(adjustment.camera);
  for (int k = 0; k < n; ++k) {
    if (!adjustment.is_free(k)) continue;
    normal.lens(k, k) += adjustment.pull(k);
    normal.gradient(k) -= adjustment.pull(k) * values(k);
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
  Eigen::VectorXd lens;
  std::vector<PoseStep> poses;
};

Step solve(const NormalEquations& normal, double damping) {
  Eigen::MatrixXd reduced = damped(normal.lens, damping);
  Eigen::VectorXd right = normal.gradient;
  std::vector<SymmetricSystem> factors;
  factors.reserve(normal.views.size());
  for (const ViewBlocks& view : normal.views) {
    factors.emplace_back(damped(view.pose, damping));
    reduced.noalias() -= view.cross * factors.back().solve(view.cross.transpose());
    right.noalias() -= view.cross * factors.back().solve(view.gradient);
  }
  Step step;
  step.lens = solved(reduced, right);
  for (std::size_t v = 0; v < normal.views.size(); ++v) {
    const ViewBlocks& view = normal.views[v];
    step.poses.emplace_back(factors[v].solve(view.gradient - view.cross.transpose() * step.lens));
  }
  return step;
}

Adjustment stepped(const Adjustment& adjustment, const Step& step) {
  Adjustment result = adjustment;
  result.camera = moved_lens(adjustment.camera, step.lens);
  for (std::size_t v = 0; v < result.views.size(); ++v) {
    result.views[v].T_camera_card = stepped(result.views[v].T_camera_card, step.poses[v]);
  }
  return result;
}

/// How far the step moves the projections, root of the predicted sum of squares, px.
double moved_px(const NormalEquations& normal, const Step& step) {
  double sum = step.lens.dot(normal.lens * step.lens);
  for (std::size_t v = 0; v < normal.views.size(); ++v) {
    sum += step.poses[v].dot(normal.views[v].pose * step.poses[v]);
    sum += 2.0 * step.lens.dot(normal.views[v].cross * step.poses[v]);
  }
  return std::sqrt(std::max(0.0, sum));
}

}  // namespace

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
  const LensVector values = parameters(adjustment.camera);
  for (int k = 0; k < values.size(); ++k) {
    if (adjustment.is_free(k)) sum += adjustment.pull(k) * values(k) * values(k);
  }
  return sum;
}

bool adjust(Adjustment& adjustment, int most_steps) {
  constexpr double kSettledPx = 1e-10;  // far below any corner's noise
  constexpr double kMostDamping = 1e12;
  double best = cost(adjustment);
  if (!std::isfinite(best)) return false;
  std::optional<NormalEquations> normal;
  const auto linearise = [&](int) { normal = normal_equations(adjustment); };
  const auto attempt = [&](double damping) {
    const Step step = solve(*normal, damping);
    const bool sane = step.lens.allFinite();
    Adjustment tried = sane ? stepped(adjustment, step) : adjustment;
    const double tried_cost = sane ? cost(tried) : std::numeric_limits<double>::infinity();
    const double moved_by = sane ? moved_px(*normal, step) : 1.0;
    if (tried_cost < best) {
      adjustment = std::move(tried);
      best = tried_cost;
      return moved_by < kSettledPx ? Tried::settled : Tried::taken;
    }
    // Rounding decides from here on.
    return moved_by < 1e3 * kSettledPx ? Tried::settled : Tried::left;
  };
  return descend({.eased = 0.1,
                  .stiffened = 10.0,
                  .least = 1e-15,
                  .most = kMostDamping,
                  .rounds = most_steps},
                 linearise, attempt) == Descended::settled;
}

LensMatrix reduced_normal_matrix(const Adjustment& adjustment) {
  const NormalEquations normal = normal_equations(adjustment);
  Eigen::MatrixXd reduced = normal.lens;
  for (const ViewBlocks& view : normal.views) {
    const SymmetricSystem factor(damped(view.pose, 0.0));
    reduced.noalias() -= view.cross * factor.solve(view.cross.transpose());
  }
  return reduced;
}

}  // namespace evenbevel::calibrate_detail
