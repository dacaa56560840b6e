#include <algorithm>
#include <cassert>
#include <cmath>

#include <Eigen/QR>

#include "evenbevel/fit.hpp"

namespace evenbevel {
namespace {

Eigen::VectorXd column_lengths(const Eigen::MatrixXd& jacobian) {
  Eigen::VectorXd lengths = jacobian.colwise().norm();
  for (Eigen::Index i = 0; i < lengths.size(); ++i) {
    if (!(lengths(i) > 0.0)) lengths(i) = 1.0;
  }
  return lengths;
}

/// Step that lowers |residuals + jacobian step|^2 + damping |scaled step|^2.
Eigen::VectorXd damped_step(const Eigen::MatrixXd& jacobian, const Eigen::VectorXd& residuals,
                            const Eigen::VectorXd& scale, double damping) {
  const Eigen::Index rows = jacobian.rows(), columns = jacobian.cols();
  Eigen::MatrixXd stacked(rows + columns, columns);
  stacked.topRows(rows) = jacobian * scale.cwiseInverse().asDiagonal();
  stacked.bottomRows(columns) = std::sqrt(damping) * Eigen::MatrixXd::Identity(columns, columns);
  Eigen::VectorXd right = Eigen::VectorXd::Zero(rows + columns);
  right.head(rows) = -residuals;
  return stacked.colPivHouseholderQr().solve(right).cwiseQuotient(scale);
}

Eigen::MatrixXd inverse_normal_matrix(const Eigen::MatrixXd& jacobian) {
  const Eigen::VectorXd scale = column_lengths(jacobian);
  const Eigen::MatrixXd scaled = jacobian * scale.cwiseInverse().asDiagonal();
  const Eigen::MatrixXd pseudo = scaled.completeOrthogonalDecomposition().pseudoInverse();
  return scale.cwiseInverse().asDiagonal() * (pseudo * pseudo.transpose()) *
         scale.cwiseInverse().asDiagonal();
}

bool small_step(const Eigen::VectorXd& step, const Eigen::VectorXd& parameters, double tolerance) {
  return (step.array().abs() <= tolerance * (parameters.array().abs() + 1e-100)).all();
}

/// What a step brings, and what the linear model promised of it; both as sums of squares.
struct Gain {
  double promised = 0.0, kept = 0.0;
};

Gain gain_of(const Eigen::VectorXd& residuals, const Eigen::VectorXd& trial_residuals,
             const Eigen::VectorXd& linear_change) {
  const double now = residuals.squaredNorm();
  return {.promised = now - (residuals + linear_change).squaredNorm(),
          .kept = now - trial_residuals.squaredNorm()};
}

}  // namespace

// Damping by H. B. Nielsen, Damping parameter in Marquardt's method, IMM-REP-1999-05 (1999).
LeastSquaresFit least_squares(const ResidualFunction& model, const Eigen::VectorXd& start,
                              int residual_count, const LeastSquaresOptions& options) {
  assert(residual_count >= start.size());
  constexpr double kUndamped = 1e-15;
  LeastSquaresFit fit;
  fit.parameters = start;
  Eigen::VectorXd residuals(residual_count), trial_residuals(residual_count);
  Eigen::MatrixXd jacobian(residual_count, start.size());
  model(fit.parameters, residuals, &jacobian);
  Eigen::VectorXd scale = column_lengths(jacobian);
  double damping = options.damping, growth = 2.0;
  while (fit.iterations < options.iterations && !fit.converged) {
    ++fit.iterations;
    const Eigen::VectorXd step = damped_step(jacobian, residuals, scale, damping);
    const Eigen::VectorXd trial = fit.parameters + step;
    model(trial, trial_residuals, nullptr);
    const Gain gain = gain_of(residuals, trial_residuals, jacobian * step);
    // So near the bottom the sums of squares no longer tell better from worse; the step does.
    const bool flat = gain.promised <= 1e-14 * residuals.squaredNorm();
    const bool undamped = damping <= kUndamped;
    fit.converged = small_step(step, fit.parameters, options.tolerance) || (flat && undamped);
    if (gain.kept > 0.0 || (flat && undamped)) {
      fit.parameters = trial;
      model(fit.parameters, residuals, &jacobian);
      scale = scale.cwiseMax(column_lengths(jacobian));
      damping *= std::max(0.1, 1.0 - std::pow(2.0 * gain.kept / gain.promised - 1.0, 3));
      damping = std::max(damping, kUndamped);
      growth = 2.0;
    } else if (flat) {
      damping = kUndamped;
    } else {
      damping *= growth;
      growth *= 2.0;
    }
  }
  fit.sum_squares = residuals.squaredNorm();
  fit.dof = static_cast<double>(residual_count - start.size());
  const double variance = fit.dof > 0.0 ? fit.sum_squares / fit.dof : 0.0;
  fit.sigma = std::sqrt(variance);
  fit.covariance = variance * inverse_normal_matrix(jacobian);
  return fit;
}

}  // namespace evenbevel
