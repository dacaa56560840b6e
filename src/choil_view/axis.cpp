#include "axis.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel::choil {
namespace {

// Type B estimates (JCGM 100, 4.3). A card cut by hand and stood on square jaws: common practice,
// no source. Bevels of one knife differ by less than half a degree (common practice, no source),
// which turns the section's median line by half of that.
constexpr double kCardUprightU = 0.2 * kPi / 180.0;
constexpr double kMedianLineU = 0.25 * kPi / 180.0;
constexpr double kDeepEndU_mm = 0.04;       // Median against the flats' middle, at the deep end.
constexpr double kMiddleWanderU_px = 0.06;  // Of the middle of two borders along the section.
constexpr double kLeastFlatsMm = 3.0;
constexpr double kFlatsSlack_px = 0.45, kFlatsSlackMm = 0.02;
constexpr double kMostFlatsSlope = 0.006;  // Of the thickness, mm per mm.
constexpr double kDisagree = 3.0;          // Standard uncertainties.

struct Middles {
  std::vector<double> down, middle, width;
};

/// Straight line through (x, y), robust: value at the mean of x, and slope.
struct Trend {
  double x = 0.0, value = 0.0, slope = 0.0, u_value = 0.0, u_slope = 0.0;
};

Trend trend(const std::vector<double>& x, const std::vector<double>& y) {
  std::vector<Eigen::Vector2d> points;
  for (std::size_t i = 0; i < x.size(); ++i) points.emplace_back(x[i], y[i]);
  const LineFit line = fit_line_robust(points);
  const double slope = std::tan(line.direction_rad);
  return {line.centre.x(), line.centre.y(), slope, std::sqrt(line.covariance(0, 0)),
          std::sqrt(line.covariance(1, 1))};
}

/// Points [first, end) of the flats: the deepest stretch of equal thickness.
struct Stretch {
  std::size_t first = 0, end = 0;
};

std::optional<Stretch> flats_of(const Outline& outline) {
  const std::vector<OutlinePoint>& points = outline.points;
  const double slack = std::max(kFlatsSlackMm, kFlatsSlack_px / outline.px_per_mm);
  std::optional<Stretch> best;
  double best_length = 0.0;
  // Every start from the spine's side: a stray border at the very end must not hide the flats.
  for (std::size_t end = points.size(); end > points.size() / 2 && end > 0; end -= 1) {
    std::vector<double> widths;
    std::size_t first = end;
    while (first > 0) {
      const OutlinePoint& p = points[first - 1];
      const double width = p.left_mm - p.right_mm;
      if (!widths.empty() && std::abs(width - median(widths)) > slack) break;
      widths.push_back(width);
      --first;
    }
    if (end - first < 8) continue;
    const double length = points[end - 1].down_mm - points[first].down_mm;
    if (length <= best_length) continue;
    best_length = length;
    best = Stretch{first, end};
  }
  if (!best || best_length < kLeastFlatsMm) return std::nullopt;
  std::vector<double> down, width;
  for (std::size_t i = best->first; i < best->end; ++i) {
    down.push_back(points[i].down_mm);
    width.push_back(points[i].left_mm - points[i].right_mm);
  }
  if (std::abs(trend(down, width).slope) > kMostFlatsSlope) return std::nullopt;
  const double flats = median(width);
  for (const OutlinePoint& p : points) {  // nothing above may be thicker than the stock
    if (p.left_mm - p.right_mm > flats + 2.0 * slack) return std::nullopt;
  }
  return best;
}

Middles middles_of(const Outline& outline, std::size_t first, std::size_t end) {
  Middles m;
  for (std::size_t i = first; i < end; ++i) {
    const OutlinePoint& p = outline.points[i];
    m.down.push_back(p.down_mm);
    m.middle.push_back(0.5 * (p.left_mm + p.right_mm));
    m.width.push_back(p.left_mm - p.right_mm);
  }
  return m;
}

/// Weighted mean of two readings of the lean.
void combine_lean(SectionAxis& axis, double lean, double u_lean) {
  const double w_card = 1.0 / (kCardUprightU * kCardUprightU), w = 1.0 / (u_lean * u_lean);
  axis.lean_rad = std::atan(lean * w / (w + w_card));
  axis.u_lean_rad = 1.0 / std::sqrt(w + w_card);
  axis.doubtful = std::abs(lean) > kDisagree * std::hypot(kCardUprightU, u_lean);
}

SectionAxis axis_from_flats(const Outline& outline, const Stretch& flats) {
  const Middles m = middles_of(outline, flats.first, flats.end);
  const Trend line = trend(m.down, m.middle);
  const double length = m.down.back() - m.down.front();
  const double wander = kMiddleWanderU_px / outline.px_per_mm;
  SectionAxis axis;
  axis.from = AxisSource::flats;
  axis.through_mm = {line.value, line.x};
  axis.u_place_mm = std::hypot(line.u_value, wander);
  combine_lean(axis, line.slope, std::hypot(line.u_slope, 2.0 * wander / length));
  axis.doubtful = false;  // A card that stands askew does no harm here, but counts for nothing.
  if (std::abs(line.slope) > kDisagree * std::hypot(kCardUprightU, 2.0 * wander / length)) {
    axis.lean_rad = std::atan(line.slope);
    axis.u_lean_rad = std::hypot(line.u_slope, 2.0 * wander / length);
  }
  const Location stock = robust_location(m.width);
  axis.stock_mm = Measured{stock.value, stock.u};
  axis.flats_from_mm = m.down.front();
  axis.flats_to_mm = m.down.back();
  return axis;
}

SectionAxis axis_from_median(const Outline& outline) {
  constexpr double kFromMm = 1.0, kDeepShare = 0.2;
  std::size_t first = 0, end = 0;
  for (std::size_t i = 0; i < outline.points.size(); ++i) {
    if (outline.points[i].down_mm < outline.edge_down_mm + kFromMm) first = i + 1;
    if (outline.points[i].before_paper) end = i + 1;
  }
  if (end < first + 4) first = 0;
  const Middles m = middles_of(outline, first, end);
  const Trend line = trend(m.down, m.middle);
  SectionAxis axis;
  combine_lean(axis, line.slope, std::hypot(line.u_slope, kMedianLineU));
  const double deep = m.down.back() - 0.5 * kDeepShare * (m.down.back() - m.down.front());
  axis.through_mm = {line.value + line.slope * (deep - line.x), deep};
  axis.u_place_mm = std::hypot(kDeepEndU_mm, line.u_value);
  return axis;
}

}  // namespace

Eigen::Vector2d SectionAxis::direction() const { return {std::sin(lean_rad), std::cos(lean_rad)}; }
Eigen::Vector2d SectionAxis::across() const { return {std::cos(lean_rad), -std::sin(lean_rad)}; }

SectionAxis find_axis(const Outline& outline) {
  if (const std::optional<Stretch> flats = flats_of(outline)) {
    return axis_from_flats(outline, *flats);
  }
  return axis_from_median(outline);
}

}  // namespace evenbevel::choil
