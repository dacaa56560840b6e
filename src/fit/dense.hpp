#pragma once

#include <Eigen/Cholesky>
#include <Eigen/Core>

namespace evenbevel {

// Dense algebra of the project's least squares, compiled once for all of them. Unknowns are scaled
// to a unit diagonal throughout: radians, px and mm differ by many powers of ten.

/// A symmetric positive definite matrix, factored. An unknown that nothing tells of (a zero on the
/// diagonal, with its row and column) stays where it is.
class SymmetricSystem {
 public:
  explicit SymmetricSystem(const Eigen::Ref<const Eigen::MatrixXd>& A);

  Eigen::MatrixXd solve(const Eigen::Ref<const Eigen::MatrixXd>& right) const;
  Eigen::MatrixXd inverse() const;

 private:
  Eigen::VectorXd scale_;
  Eigen::LDLT<Eigen::MatrixXd> factor_;
};

/// Where A x = b.
Eigen::VectorXd solved(const Eigen::Ref<const Eigen::MatrixXd>& A,
                       const Eigen::Ref<const Eigen::VectorXd>& b);

/// Sums of least squares: A is J^T W J, b is J^T W r.
struct NormalSums {
  Eigen::MatrixXd A;
  Eigen::VectorXd b;

  explicit NormalSums(Eigen::Index unknowns);
  /// @param rows  Derivatives of the predictions, a row each; `misses` are seen minus predicted.
  void add(const Eigen::Ref<const Eigen::MatrixXd>& rows,
           const Eigen::Ref<const Eigen::VectorXd>& misses, double weight);
};

/// R with R R^T the covariance, which may be of less than full rank: its columns are its own
/// directions, one standard deviation long, the shortest first.
Eigen::MatrixXd root_of(const Eigen::Ref<const Eigen::MatrixXd>& covariance);

}  // namespace evenbevel
