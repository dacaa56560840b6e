#include "fit/straight.hpp"

#include <algorithm>

namespace evenbevel {

std::optional<Straight> straight_through(std::span<const Eigen::Vector2d> points) {
  double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
  for (const Eigen::Vector2d& p : points) {
    n += 1;
    sx += p.x();
    sy += p.y();
    sxx += p.x() * p.x();
    sxy += p.x() * p.y();
  }
  const double det = n * sxx - sx * sx;
  if (!(det > 1e-9)) return std::nullopt;
  return Straight{(sxx * sy - sx * sxy) / det, (n * sxy - sx * sy) / det};
}

std::vector<double> smoothed(std::span<const double> values, int half) {
  std::vector<double> out(values.begin(), values.end());
  const int count = static_cast<int>(values.size());
  std::vector<Eigen::Vector2d> about;
  for (int i = 0; i < count; ++i) {
    about.clear();
    for (int k = std::max(0, i - half); k <= std::min(count - 1, i + half); ++k) {
      about.emplace_back(k - i, values[static_cast<std::size_t>(k)]);
    }
    if (const auto line = straight_through(about)) out[static_cast<std::size_t>(i)] = line->value;
  }
  return out;
}

}  // namespace evenbevel
