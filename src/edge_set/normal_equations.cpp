#include "normal_equations.hpp"

#include <map>

#include <Eigen/Cholesky>

#include "edge_view/metric.hpp"

namespace evenbevel::edges {
namespace {

/// Solves with the unknowns scaled to a unit diagonal: radians, px and mm differ by thousands.
struct Scaled {
  Eigen::VectorXd scale;
  Eigen::LDLT<Eigen::MatrixXd> factor;

  explicit Scaled(const Eigen::MatrixXd& sums)
      : scale(sums.diagonal().cwiseSqrt().cwiseInverse()),
        factor(scale.asDiagonal() * sums * scale.asDiagonal()) {}

  Eigen::MatrixXd solve(const Eigen::MatrixXd& right) const {
    return scale.asDiagonal() * factor.solve(scale.asDiagonal() * right);
  }
};

}  // namespace

const char* name(Cause cause) {
  switch (cause) {
    case Cause::location:
      return edge::kEdgeLocation;
    case Cause::view_light:
      return "light from photo to photo";
    case Cause::corners:
      return edge::kParallax;
    case Cause::lens:
      return "lens";
    case Cause::scale:
      return edge::kScale;
    case Cause::shape:
      return edge::kDepth;
  }
  return "";
}

Row merged(const Row& row) {
  std::map<int, double> sums;
  for (const auto& [index, weight] : row) sums[index] += weight;
  return {sums.begin(), sums.end()};
}

double dot(const Row& row, const Eigen::VectorXd& x) {
  double sum = 0.0;
  for (const auto& [index, weight] : row) sum += weight * x(index);
  return sum;
}

NormalEquations::NormalEquations(int unknowns) : right_(Eigen::VectorXd::Zero(unknowns)) {
  sums_.fill(Eigen::MatrixXd::Zero(unknowns, unknowns));
}

void NormalEquations::add(Cause cause, const Row& row, double residual, double u) {
  Eigen::MatrixXd& sum = sums_[static_cast<std::size_t>(cause)];
  const double weight = 1.0 / (u * u);
  for (const auto& [i, a] : row) {
    right_(i) += weight * a * residual;
    for (const auto& [k, b] : row) sum(i, k) += weight * a * b;
  }
}

void NormalEquations::add_block(Cause cause, int first, const Eigen::MatrixXd& precision,
                                const Eigen::VectorXd& residuals) {
  const Eigen::Index size = residuals.size();
  sums_[static_cast<std::size_t>(cause)].block(first, first, size, size) += precision;
  right_.segment(first, size) += precision * residuals;
}

Eigen::MatrixXd NormalEquations::total() const {
  Eigen::MatrixXd sum = sums_.front();
  for (std::size_t k = 1; k < sums_.size(); ++k) sum += sums_[k];
  return sum;
}

Eigen::VectorXd NormalEquations::step() const { return Scaled(total()).solve(right_); }

NormalEquations::Solution NormalEquations::solution() const {
  const Scaled scaled(total());
  Solution out;
  out.step = scaled.solve(right_);
  out.covariance = scaled.solve(Eigen::MatrixXd::Identity(right_.size(), right_.size()));
  for (std::size_t k = 0; k < sums_.size(); ++k) {
    out.parts[k] = out.covariance * sums_[k] * out.covariance;
  }
  return out;
}

}  // namespace evenbevel::edges
