#include "strays.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <span>

#include "evenbevel/fit.hpp"

namespace evenbevel::choil {
namespace {

/// One side of a point; out grows away from the section.
struct Side {
  double OutlinePoint::*place;
  double OutlinePoint::*u;
  double out_sign;

  double out_mm(const OutlinePoint& point) const { return out_sign * (point.*place); }
};

constexpr std::array<Side, 2> kSides{{{&OutlinePoint::left_mm, &OutlinePoint::u_left_mm, 1.0},
                                      {&OutlinePoint::right_mm, &OutlinePoint::u_right_mm, -1.0}}};

constexpr std::size_t kBelow = 10;  // Points that say where a side leads to.

double slack_mm(const Side& side, const OutlinePoint& point, double px_per_mm) {
  constexpr double kSlackMm = 0.02, kSlackPx = 0.5, kTimesU = 4.0;
  return std::max(kSlackMm, kSlackPx / px_per_mm) + kTimesU * (point.*side.u);
}

/// Further in than what pairs of points, one above and one below, say in common. (Further out is
/// also the corner where a hollow side meets its flat.)
bool dented(const std::vector<OutlinePoint>& points, std::size_t i, const Side& side,
            double px_per_mm) {
  constexpr double kAboutMm = 1.3;
  constexpr std::size_t kLeastPairs = 3;
  std::vector<double> course;
  for (std::size_t k = 1; k <= i && i + k < points.size(); ++k) {
    const OutlinePoint &above = points[i - k], &below = points[i + k];
    const double apart = below.down_mm - above.down_mm;
    if (apart > 2.0 * kAboutMm) break;
    const double share = (points[i].down_mm - above.down_mm) / apart;
    course.push_back((1.0 - share) * side.out_mm(above) + share * side.out_mm(below));
  }
  return course.size() >= kLeastPairs &&
         side.out_mm(points[i]) < median(course) - slack_mm(side, points[i], px_per_mm);
}

/// How far out the points below, `kept` from the spine upward, lead to at this height: a straight
/// line by medians (Theil and Sen), which a single stray below does not turn.
std::optional<double> led_to(const std::vector<OutlinePoint>& kept, double down_mm,
                             const Side& side) {
  if (kept.size() < kBelow) return std::nullopt;
  const auto below = std::span(kept).last(kBelow);
  std::vector<double> slopes, places;
  for (std::size_t i = 0; i < kBelow; ++i) {
    for (std::size_t j = i + 1; j < kBelow; ++j) {
      slopes.push_back((side.out_mm(below[j]) - side.out_mm(below[i])) /
                       (below[j].down_mm - below[i].down_mm));
    }
  }
  const double slope = median(slopes);
  for (const OutlinePoint& p : below) {
    places.push_back(side.out_mm(p) + slope * (down_mm - p.down_mm));
  }
  return median(places);
}

/// A hollow side leaves the straight line outward as the square of the way.
double hollow_mm(double way_mm) {
  constexpr double kLeastRadiusMm = 40.0;
  return way_mm * way_mm / (2.0 * kLeastRadiusMm);
}

}  // namespace

void drop_strays(Outline& outline, double px_per_mm) {
  const std::vector<OutlinePoint>& all = outline.points;
  std::vector<OutlinePoint> steady;
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (std::none_of(kSides.begin(), kSides.end(),
                     [&](const Side& side) { return dented(all, i, side, px_per_mm); })) {
      steady.push_back(all[i]);
    }
  }
  std::vector<OutlinePoint> kept;
  for (auto point = steady.rbegin(); point != steady.rend(); ++point) {
    if (std::none_of(kSides.begin(), kSides.end(), [&](const Side& side) {
          const std::optional<double> out = led_to(kept, point->down_mm, side);
          if (!point->before_paper || !out) return false;
          const double way = kept[kept.size() - kBelow / 2].down_mm - point->down_mm;
          return side.out_mm(*point) > *out + slack_mm(side, *point, px_per_mm) + hollow_mm(way);
        })) {
      kept.push_back(*point);
    }
  }
  outline.dropped += static_cast<int>(all.size() - kept.size());
  outline.points.assign(kept.rbegin(), kept.rend());
}

void end_at_jump(Outline& outline) {
  constexpr double kSteepest = 0.6, kSlackMm = 0.12;  // mm a mm: a side of 31 degrees.
  std::vector<OutlinePoint>& points = outline.points;
  for (std::size_t i = 1; i < points.size(); ++i) {
    const double most = kSlackMm + kSteepest * (points[i].down_mm - points[i - 1].down_mm);
    const bool jumps = std::any_of(kSides.begin(), kSides.end(), [&](const Side& side) {
      return std::abs(side.out_mm(points[i]) - side.out_mm(points[i - 1])) > most;
    });
    if (!jumps) continue;
    outline.dropped += static_cast<int>(points.size() - i);
    points.resize(i);
    return;
  }
}

}  // namespace evenbevel::choil
