#include "evenbevel/practice_strip.hpp"

#include <cmath>

namespace evenbevel {

Eigen::Vector2d PracticeStrip::card_mm(double s_mm, double t_mm) const {
  const Eigen::Vector2d along(std::cos(turn_rad), std::sin(turn_rad));
  return s_mm * along + t_mm * Eigen::Vector2d(along.y(), -along.x());
}

}  // namespace evenbevel
