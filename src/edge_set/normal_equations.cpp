#include "normal_equations.hpp"

#include <map>

#include "edge_view/stations.hpp"
#include "fit/dense.hpp"

namespace evenbevel::edges {

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

void append(Row& row, const Row& more, double factor) {
  if (factor == 0.0) return;
  for (const auto& [index, weight] : more) row.emplace_back(index, factor * weight);
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

Eigen::VectorXd NormalEquations::step() const { return solved(total(), right_); }

NormalEquations::Solution NormalEquations::solution() const {
  const SymmetricSystem system(total());
  Solution out;
  out.step = system.solve(right_);
  out.covariance = system.inverse();
  for (std::size_t k = 0; k < sums_.size(); ++k) {
    out.parts[k] = out.covariance * sums_[k] * out.covariance;
  }
  return out;
}

}  // namespace evenbevel::edges
