#include <cmath>

#include <boost/math/distributions/students_t.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/study.hpp"

namespace evenbevel {
namespace {

/// Two-sided probability of a |t| this large by chance.
double p_of(double t, double dof) {
  if (!std::isfinite(dof)) return std::erfc(std::abs(t) / std::sqrt(2.0));
  return 2.0 * boost::math::cdf(boost::math::complement(boost::math::students_t(dof), std::abs(t)));
}

double scatter(std::span<const Measured> readings, double mean) {
  double sum = 0.0;
  for (const Measured& reading : readings) sum += (reading.value - mean) * (reading.value - mean);
  return std::sqrt(sum / static_cast<double>(readings.size() - 1));
}

}  // namespace

BiasResult bias_against(std::span<const Measured> readings, const Measured& known) {
  if (readings.empty()) {
    throw Error("there is no reading of the gauge", "read it two or more times, clamped anew");
  }
  const auto n = static_cast<double>(readings.size());
  BiasResult result;
  result.readings = readings.size();
  result.known = known;
  double u_stated = 0.0;
  for (const Measured& reading : readings) {
    result.mean += reading.value / n;
    u_stated += reading.u / n;
  }
  const double bias = result.mean - known.value;
  const BudgetLine gauge{"gauge", known.u, known.dof};
  const BudgetLine stated{"as each report states", u_stated};
  result.stated = combine(bias, std::vector{stated, gauge});
  if (readings.size() == 1) {
    if (!(u_stated > 0.0)) {
      throw Error("the gauge was read once, and nothing tells how well",
                  "read it again, clamped anew, three times or more");
    }
    result.bias = result.stated;
  } else {
    const BudgetLine mean{"scatter", scatter(readings, result.mean) / std::sqrt(n), n - 1.0};
    result.bias = combine(bias, std::vector{mean, gauge});
  }
  if (result.bias.u > 0.0) {
    result.t = bias / result.bias.u;
    result.p = p_of(result.t, result.bias.dof);
  } else {
    result.p = bias == 0.0 ? 1.0 : 0.0;
  }
  constexpr double kChance = 0.05;
  result.seen = result.p < kChance;
  result.within_stated = u_stated <= 0.0 || std::abs(bias) <= U95(result.stated);
  return result;
}

}  // namespace evenbevel
