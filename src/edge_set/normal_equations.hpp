#pragma once

#include <array>
#include <utility>
#include <vector>

#include <Eigen/Core>

namespace evenbevel::edges {

/// What an observation or a prior belongs to: the solution's covariance comes apart by these.
enum class Cause { location, view_light, corners, lens, scale, shape };
inline constexpr int kCauses = 6;
const char* name(Cause cause);

/// Derivatives of one scalar by the few unknowns that it depends on.
using Row = std::vector<std::pair<int, double>>;

/// Adds `more`, times a factor.
void append(Row& row, const Row& more, double factor);

/// Each unknown once.
Row merged(const Row& row);

double dot(const Row& row, const Eigen::VectorXd& x);

/// Weighted least squares, summed cause by cause.
class NormalEquations {
 public:
  explicit NormalEquations(int unknowns);

  /// @param residual  Observed minus predicted; `row` is of the prediction.
  void add(Cause cause, const Row& row, double residual, double u);
  /// Correlated priors on neighbouring unknowns: their estimates minus their present values.
  void add_block(Cause cause, int first, const Eigen::MatrixXd& precision,
                 const Eigen::VectorXd& residuals);

  struct Solution {
    Eigen::VectorXd step;
    Eigen::MatrixXd covariance;
    std::array<Eigen::MatrixXd, kCauses> parts;  ///< Add up to the covariance.
  };
  Eigen::VectorXd step() const;
  Solution solution() const;

 private:
  Eigen::MatrixXd total() const;

  std::array<Eigen::MatrixXd, kCauses> sums_;  ///< J^T W J.
  Eigen::VectorXd right_;                      ///< J^T W r.
};

}  // namespace evenbevel::edges
