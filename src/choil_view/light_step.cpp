#include "light_step.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "fit/straight.hpp"

namespace evenbevel::choil {
namespace {

/// From `at_mm`, those between the two distances.
std::vector<Eigen::Vector2d> stretch_of(std::span<const Eigen::Vector2d> light, double at_mm,
                                        double from_mm, double to_mm) {
  std::vector<Eigen::Vector2d> out;
  for (const Eigen::Vector2d& p : light) {
    const double off = p.x() - at_mm;
    if (off >= from_mm && off <= to_mm) out.emplace_back(off, p.y());
  }
  return out;
}

double strayed_squares(const std::vector<Eigen::Vector2d>& points, const Straight& line) {
  double sum = 0.0;
  for (const Eigen::Vector2d& p : points) {
    sum += std::pow(p.y() - line.value - line.slope * p.x(), 2);
  }
  return sum;
}

/// The change at the place over what the light strays by on both sides; 0 where too little is seen.
double plainness(std::span<const Eigen::Vector2d> light, double at_mm, double clear_mm,
                 double stray) {
  constexpr double kSideMm = 0.5;
  constexpr std::size_t kLeastPoints = 5;
  const std::vector<Eigen::Vector2d> above =
      stretch_of(light, at_mm, -clear_mm - kSideMm, -clear_mm);
  const std::vector<Eigen::Vector2d> below = stretch_of(light, at_mm, clear_mm, clear_mm + kSideMm);
  if (above.size() < kLeastPoints || below.size() < kLeastPoints) return 0.0;
  const auto upper = straight_through(above), lower = straight_through(below);
  if (!upper || !lower) return 0.0;
  const double freedom = static_cast<double>(above.size() + below.size()) - 4.0;
  const double own =
      std::sqrt((strayed_squares(above, *upper) + strayed_squares(below, *lower)) / freedom);
  return std::abs(lower->value - upper->value) / std::max(own, stray);
}

}  // namespace

std::optional<double> light_step(std::span<const Eigen::Vector2d> light, double clear_mm,
                                 double stray) {
  // Times what the light strays by. On random scenes whose edge was found (soft 2000-2029 and
  // 7460-7499, adverse 7340-7379) changes that last, of end faces grained or streaked by lamps,
  // were up to 8.5; ends of lands in soft 7495 and adverse 7318 33 and 19.
  constexpr double kPlain = 14.0;
  double most = kPlain;
  std::optional<double> best;
  for (const Eigen::Vector2d& p : light) {
    const double plain = plainness(light, p.x(), clear_mm, stray);
    if (plain < most) continue;
    most = plain;
    best = p.x();
  }
  return best;
}

}  // namespace evenbevel::choil
