#include "envelope.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include <Eigen/Cholesky>

namespace evenbevel {

EnvelopeSystem::EnvelopeSystem(std::vector<int> first, int border) : first_(std::move(first)) {
  start_.reserve(first_.size());
  std::ptrdiff_t end = 0;
  for (int row = 0; row < curve(); ++row) {
    const int begin = first_[static_cast<std::size_t>(row)];
    start_.push_back(end - begin);
    end += row + 1 - begin;
  }
  values_.setZero(end);
  border_.setZero(border, curve());
  corner_.setZero(border, border);
}

void EnvelopeSystem::factorise_curve() {
  for (int i = 0; i < curve(); ++i) {
    double* row = values_.data() + start_[static_cast<std::size_t>(i)];
    const int begin = first_[static_cast<std::size_t>(i)];
    for (int j = begin; j <= i; ++j) {
      const double* above = row_of(j);
      for (int k = std::max(begin, first_[static_cast<std::size_t>(j)]); k < j; ++k)
        row[j] -= row[k] * above[k];
      if (j < i) row[j] /= above[j];
    }
    row[i] = std::sqrt(row[i]);
  }
}

/// All of its rows at once, column after column.
void EnvelopeSystem::factorise_border() {
  if (corner_.rows() == 0) return;
  for (int j = 0; j < curve(); ++j) {
    const double* row = row_of(j);
    for (int k = first_[static_cast<std::size_t>(j)]; k < j; ++k)
      border_.col(j) -= row[k] * border_.col(k);
    border_.col(j) /= row[j];
  }
  corner_.selfadjointView<Eigen::Lower>().rankUpdate(border_, -1.0);
}

void EnvelopeSystem::solve(Eigen::VectorXd& right) {
  factorise_curve();
  factorise_border();
  auto of_curve = right.head(curve());
  for (int i = 0; i < curve(); ++i) {
    const double* row = row_of(i);
    for (int k = first_[static_cast<std::size_t>(i)]; k < i; ++k)
      of_curve[i] -= row[k] * of_curve[k];
    of_curve[i] /= row[i];
  }
  if (corner_.rows() > 0) {
    auto of_border = right.tail(corner_.rows());
    of_border -= border_ * of_curve;
    corner_.selfadjointView<Eigen::Lower>().llt().solveInPlace(of_border);
    of_curve -= border_.transpose() * of_border;
  }
  for (int i = curve() - 1; i >= 0; --i) {
    const double* row = row_of(i);
    of_curve[i] /= row[i];
    for (int k = first_[static_cast<std::size_t>(i)]; k < i; ++k)
      of_curve[k] -= row[k] * of_curve[i];
  }
}

}  // namespace evenbevel
