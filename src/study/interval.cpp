#include "interval.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>

namespace evenbevel::studies {
namespace {

constexpr double kTail = 0.025;

double square(double x) { return x * x; }

/// Quantile of chi-square over its degrees of freedom.
double chi_ratio(double dof, double below) {
  return boost::math::quantile(boost::math::chi_squared(dof), below) / dof;
}
double f_quantile(double dof, double dof_below, double below) {
  return boost::math::quantile(boost::math::fisher_f(dof, dof_below), below);
}

/// How far a mean square may lie above its expectation (G in the papers) and below it (H), as
/// shares of itself.
double share_above(double dof) { return 1.0 - 1.0 / chi_ratio(dof, 1.0 - kTail); }
double share_below(double dof) { return 1.0 / chi_ratio(dof, kTail) - 1.0; }

double size(const WeightedSquare& term) { return std::abs(term.weight) * term.mean_square; }

/// Between two terms of one sign.
double same_sign(const WeightedSquare& a, const WeightedSquare& b, std::size_t of_that_sign) {
  const double n = a.dof + b.dof;
  const double joint = square(share_above(n)) * n * n / (a.dof * b.dof);
  return (joint - square(share_above(a.dof)) * a.dof / b.dof -
          square(share_above(b.dof)) * b.dof / a.dof) /
         static_cast<double>(of_that_sign - 1);
}

/// The same over all pairs.
double within_sign(const std::vector<WeightedSquare>& terms) {
  double sum = 0.0;
  for (std::size_t i = 0; i < terms.size(); ++i) {
    for (std::size_t k = i + 1; k < terms.size(); ++k) {
      sum += same_sign(terms[i], terms[k], terms.size()) * size(terms[i]) * size(terms[k]);
    }
  }
  return sum;
}

double squares(const std::vector<WeightedSquare>& terms, double (*pull)(double)) {
  double sum = 0.0;
  for (const WeightedSquare& term : terms) sum += square(pull(term.dof) * size(term));
  return sum;
}

double across_low(const WeightedSquare& plus, const WeightedSquare& minus) {
  const double F = f_quantile(plus.dof, minus.dof, 1.0 - kTail);
  return (square(F - 1.0) - square(share_above(plus.dof) * F) - square(share_below(minus.dof))) / F;
}

double across_high(const WeightedSquare& plus, const WeightedSquare& minus) {
  const double F = f_quantile(plus.dof, minus.dof, kTail);
  return (square(1.0 - F) - square(share_below(plus.dof) * F) - square(share_above(minus.dof))) / F;
}

}  // namespace

Interval variance_interval95(std::span<const WeightedSquare> sum) {
  std::vector<WeightedSquare> plus, minus;
  double estimate = 0.0;
  for (const WeightedSquare& term : sum) {
    if (term.weight == 0.0 || term.mean_square <= 0.0) continue;
    (term.weight > 0.0 ? plus : minus).push_back(term);
    estimate += term.weight * term.mean_square;
  }
  double low = squares(plus, share_above) + squares(minus, share_below) + within_sign(plus);
  double high = squares(plus, share_below) + squares(minus, share_above) + within_sign(minus);
  for (const WeightedSquare& p : plus) {
    for (const WeightedSquare& m : minus) {
      low += across_low(p, m) * size(p) * size(m);
      high += across_high(p, m) * size(p) * size(m);
    }
  }
  return {.low = std::max(0.0, estimate - std::sqrt(std::max(low, 0.0))),
          .high = std::max(0.0, estimate + std::sqrt(std::max(high, 0.0)))};
}

}  // namespace evenbevel::studies
