#include "evenbevel/uncertainty.hpp"

#include <cassert>
#include <cmath>

#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>

namespace evenbevel {

Measured combine(double value, std::span<const BudgetLine> budget) {
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
  return {.value = value, .u = std::sqrt(variance), .dof = dof};
}

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
