#include <cmath>

#include "evenbevel/trace.hpp"

namespace evenbevel {

std::vector<Peak> local_maxima(std::span<const float> values, float at_least) {
  std::vector<Peak> peaks;
  for (std::size_t i = 1; i + 1 < values.size(); ++i) {
    const float left = values[i - 1], mid = values[i], right = values[i + 1];
    if (mid < at_least || mid < left || mid <= right) continue;
    const double curvature = static_cast<double>(left) - 2.0 * mid + right;
    const double shift = curvature < 0.0 ? 0.5 * (left - right) / curvature : 0.0;
    peaks.push_back({static_cast<double>(i) + shift, mid - 0.25 * (left - right) * shift});
  }
  return peaks;
}

}  // namespace evenbevel
