#include "straight.hpp"

namespace evenbevel::choil {

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

}  // namespace evenbevel::choil
