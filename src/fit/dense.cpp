#include "dense.hpp"

#include <Eigen/Eigenvalues>

namespace evenbevel {
namespace {

constexpr double kLeastDiagonal = 1e-300;

Eigen::VectorXd unit_scale(const Eigen::Ref<const Eigen::MatrixXd>& A) {
  return A.diagonal().cwiseMax(kLeastDiagonal).cwiseSqrt().cwiseInverse();
}

}  // namespace

SymmetricSystem::SymmetricSystem(const Eigen::Ref<const Eigen::MatrixXd>& A)
    : scale_(unit_scale(A)), factor_(scale_.asDiagonal() * A * scale_.asDiagonal()) {}

Eigen::MatrixXd SymmetricSystem::solve(const Eigen::Ref<const Eigen::MatrixXd>& right) const {
  return scale_.asDiagonal() * factor_.solve(scale_.asDiagonal() * right);
}

Eigen::MatrixXd SymmetricSystem::inverse() const {
  return solve(Eigen::MatrixXd::Identity(scale_.size(), scale_.size()));
}

Eigen::VectorXd solved(const Eigen::Ref<const Eigen::MatrixXd>& A,
                       const Eigen::Ref<const Eigen::VectorXd>& b) {
  return SymmetricSystem(A).solve(b);
}

NormalSums::NormalSums(Eigen::Index unknowns)
    : A(Eigen::MatrixXd::Zero(unknowns, unknowns)), b(Eigen::VectorXd::Zero(unknowns)) {}

void NormalSums::add(const Eigen::Ref<const Eigen::MatrixXd>& rows,
                     const Eigen::Ref<const Eigen::VectorXd>& misses, double weight) {
  A.noalias() += weight * rows.transpose().lazyProduct(rows);
  b.noalias() += weight * rows.transpose().lazyProduct(misses);
}

Eigen::MatrixXd root_of(const Eigen::Ref<const Eigen::MatrixXd>& covariance) {
  const Eigen::VectorXd scale = unit_scale(covariance);
  const Eigen::MatrixXd correlation = scale.asDiagonal() * covariance * scale.asDiagonal();
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(correlation);
  return scale.cwiseInverse().asDiagonal() * eigen.eigenvectors() *
         eigen.eigenvalues().cwiseMax(0.0).cwiseSqrt().asDiagonal();
}

}  // namespace evenbevel
