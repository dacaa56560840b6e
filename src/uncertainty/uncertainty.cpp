#include "evenbevel/uncertainty.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <utility>

#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>

#include "neighbours.hpp"

namespace evenbevel {

Measured combine(double value, std::vector<BudgetLine> budget) {
  double variance = 0.0;
  for (const BudgetLine& line : budget) variance += line.u * line.u;
  double share = 0.0;  // sum of (u_i / u)^4 / dof_i: free of overflow whatever the unit
  if (variance > 0.0) {
    for (const BudgetLine& line : budget) {
      const double part = line.u * line.u / variance;
      share += part * part / line.dof;
    }
  }
  const double dof = share > 0.0 ? 1.0 / share : std::numeric_limits<double>::infinity();
  return {.value = value, .u = std::sqrt(variance), .dof = dof, .budget = std::move(budget)};
}

Measured with_line(const Measured& measured, BudgetLine line) {
  std::vector<BudgetLine> budget = measured.budget;
  budget.push_back(std::move(line));
  return combine(measured.value, std::move(budget));
}

Measured times(double factor, const Measured& measured) {
  Measured out = measured;
  out.value *= factor;
  out.u *= std::abs(factor);
  for (BudgetLine& line : out.budget) line.u *= std::abs(factor);
  return out;
}

Measured apart(const Measured& left, const Measured& right) {
  assert(left.budget.size() == right.budget.size());
  std::vector<BudgetLine> budget = left.budget;
  for (std::size_t i = 0; i < budget.size(); ++i) {
    budget[i].u = std::hypot(budget[i].u, right.budget[i].u);
    budget[i].dof = std::min(budget[i].dof, right.budget[i].dof);
  }
  return combine(left.value - right.value, std::move(budget));
}

namespace {

double mean_u(std::span<const Measured> values) {
  double sum = 0.0;
  for (const Measured& one : values) sum += one.u;
  return sum / static_cast<double>(values.size());
}

/// What one cause does to several values.
struct Sums {
  BudgetLine line;
  double u = 0.0, squares = 0.0;
};

/// That cause's sums; mostly they stand in the same order in all budgets.
Sums& sums_of(std::vector<Sums>& all, const BudgetLine& line, std::size_t likely) {
  if (likely < all.size() && all[likely].line.cause == line.cause) return all[likely];
  const auto found =
      std::ranges::find(all, line.cause, [](const Sums& sums) { return sums.line.cause; });
  return found != all.end() ? *found : all.emplace_back(Sums{line});
}

std::vector<Sums> sums_of(std::span<const Measured> values) {
  std::vector<Sums> all;
  for (const Measured& one : values) {
    for (std::size_t i = 0; i < one.budget.size(); ++i) {
      Sums& sums = sums_of(all, one.budget[i], i);
      sums.u += one.budget[i].u;
      sums.squares += one.budget[i].u * one.budget[i].u;
    }
  }
  return all;
}

}  // namespace

Measured mean_along(std::span<const Measured> values, double length_mm) {
  assert(!values.empty());
  const auto count = static_cast<double>(values.size());
  double value = 0.0;
  for (const Measured& one : values) value += one.value;
  std::vector<BudgetLine> budget;
  for (Sums& sums : sums_of(values)) {
    const bool whole = std::isinf(sums.line.shared_mm);
    sums.line.u =
        whole ? sums.u / count
              : std::sqrt(sums.squares / count / independent(length_mm, sums.line.shared_mm));
    budget.push_back(std::move(sums.line));
  }
  if (budget.empty()) return {value / count, mean_u(values)};
  return combine(value / count, std::move(budget));
}

Measured shared_mean(std::span<const Measured> values) { return mean_along(values, 0.0); }

double coverage_factor(double dof, double probability) {
  assert(probability > 0.0 && probability < 1.0);
  constexpr double kRoundOff = 1e-9;   // a dof of 16 that arithmetic left at 15.999999999999 is 16
  constexpr double kNormalFrom = 1e9;  // t and normal agree to 1e-8 from here
  const double quantile = 0.5 * (1.0 + probability);
  if (dof >= kNormalFrom) return boost::math::quantile(boost::math::normal(), quantile);
  const double whole_dof = std::floor(dof * (1.0 + kRoundOff));
  assert(whole_dof >= 1.0);
  return boost::math::quantile(boost::math::students_t(whole_dof), quantile);
}

double U95(const Measured& measured) { return coverage_factor(measured.dof) * measured.u; }

}  // namespace evenbevel
