#include "neighbours.hpp"

#include <algorithm>

namespace evenbevel {

double neighbours_inflation(double own, double lagged, double most) {
  const double rho = std::clamp(lagged / std::max(own, 1e-12), 0.0, most);
  return (1.0 + rho) / (1.0 - rho);
}

}  // namespace evenbevel
