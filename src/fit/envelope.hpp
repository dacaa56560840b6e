#pragma once

#include <cstddef>
#include <vector>

#include <Eigen/Core>

namespace evenbevel {

/// A symmetric positive definite system of a long curve and what meets all of it. The curve's
/// unknowns come first, and each meets only some before it: its row is empty up to a column of its
/// own, in the matrix as in its Cholesky factor. Time and memory go with what lies between, and
/// with the border's few full rows.
///
/// Source: A. George and J. W. H. Liu, Computer Solution of Large Sparse Positive Definite Systems,
/// Prentice-Hall 1981 (the envelope method; from memory).
class EnvelopeSystem {
 public:
  /// @param first  Of each of the curve's rows the first column that may hold something; at most
  ///               the row's own.
  /// @param border  Full rows after these.
  EnvelopeSystem(std::vector<int> first, int border);

  int size() const { return curve() + static_cast<int>(corner_.rows()); }

  /// The lower triangle is the matrix. @pre first[row] <= column <= row.
  double& at(int row, int column) {
    if (row < curve()) return values_[start_[static_cast<std::size_t>(row)] + column];
    if (column < curve()) return border_(row - curve(), column);
    return corner_(row - curve(), column - curve());
  }

  /// What all of the border's rows hold in one of the curve's columns.
  Eigen::MatrixXd::ColXpr border(int column) { return border_.col(column); }

  /// Puts the solution in the right side's place; the factor takes the matrix's.
  void solve(Eigen::VectorXd& right);

 private:
  int curve() const { return static_cast<int>(first_.size()); }
  const double* row_of(int row) const {
    return values_.data() + start_[static_cast<std::size_t>(row)];
  }
  void factorise_curve();
  void factorise_border();

  std::vector<int> first_;
  std::vector<std::ptrdiff_t> start_;  ///< Where a row's column 0 would be.
  Eigen::VectorXd values_;             ///< The curve's rows, one after the other.
  Eigen::MatrixXd border_;             ///< A column for each of the curve's unknowns.
  Eigen::MatrixXd corner_;
};

}  // namespace evenbevel
