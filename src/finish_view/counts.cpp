#include <algorithm>

#include <boost/math/distributions/chi_squared.hpp>

#include "evenbevel/finish_view.hpp"

namespace evenbevel {

Between poisson_interval(int count, double probability) {
  const double tail = 0.5 * (1.0 - probability);
  const auto limit = [](int half_dof, double below) {
    return 0.5 * quantile(boost::math::chi_squared(2.0 * half_dof), below);
  };
  return {static_cast<double>(count), count == 0 ? 0.0 : limit(count, tail),
          limit(count + 1, 1.0 - tail)};
}

Between count_interval(int found, double missed, double false_ones) {
  const Between seen = poisson_interval(found);
  return {seen.value, std::max(0.0, seen.low - false_ones), seen.high / (1.0 - missed)};
}

}  // namespace evenbevel
