#include "axis.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
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
// Median against the flats' middle, at the deep end: no less than so much, and of the width there.
constexpr double kDeepEndU_mm = 0.04, kDeepEndShare = 0.05;
constexpr double kMiddleWanderU_px = 0.06;  // Of the middle of two borders along the section.
constexpr double kLeastFlatsMm = 3.0;
constexpr double kFlatsSlack_px = 0.45, kFlatsSlackMm = 0.02;
// Between flats before the paper and in the jaws' shadow, of one thickness: the light beside a
// border, and the camera's sharpening, turn round (up to 1.2 px on random scenes).
constexpr double kJawsStep_px = 1.5;
// So the middle of two borders in the shadow is anywhere within half of that.
constexpr double kShadowMiddleU_px = 0.5 * kJawsStep_px / 1.7320508;
constexpr double kMostFlatsSlope = 0.006;  // Of the thickness, mm per mm.
constexpr double kDisagree = 3.0;          // Standard uncertainties.

struct Middles {
  std::vector<double> down, middle, width;
  bool in_shadow = false;  ///< Some of it where the paper no longer is behind.

  void add(const OutlinePoint& p) {
    in_shadow = in_shadow || !p.before_paper;
    down.push_back(p.down_mm);
    middle.push_back(0.5 * (p.left_mm + p.right_mm));
    width.push_back(p.left_mm - p.right_mm);
  }
  double length() const { return down.empty() ? 0.0 : down.back() - down.front(); }
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

/// The commonest thickness, within the slack: what most of the section's length has.
double commonest_width(const std::vector<OutlinePoint>& points, double slack) {
  double best = 0.0, longest = 0.0;
  for (const OutlinePoint& own : points) {
    const double width = own.left_mm - own.right_mm;
    double length = 0.0;
    for (const OutlinePoint& p : points) {
      if (std::abs(p.left_mm - p.right_mm - width) <= slack) length += 2.0 * p.half_band_mm;
    }
    if (length > longest) {
      longest = length;
      best = width;
    }
  }
  return best;
}

/// Share of the section's length that is thicker than flats of this thickness.
double thicker_share(const Outline& outline, double flats, double slack) {
  const double limit = flats + std::max(2.0 * slack, kJawsStep_px / outline.px_per_mm);
  double thicker = 0.0, all = 0.0;
  for (const OutlinePoint& p : outline.points) {
    all += p.half_band_mm;
    if (p.left_mm - p.right_mm > limit) thicker += p.half_band_mm;
  }
  return all > 0.0 ? thicker / all : 0.0;
}

/// The flats: the longest stretch of the commonest thickness among these points, strays left out.
std::optional<Middles> flats_among(const std::vector<OutlinePoint>& points,
                                   const Outline& outline) {
  constexpr double kGapMm = 2.0, kMostThicker = 0.15;
  const double slack = std::max(kFlatsSlackMm, kFlatsSlack_px / outline.px_per_mm);
  const double flats = commonest_width(points, slack);
  Middles best, run;
  for (const OutlinePoint& p : points) {
    if (std::abs(p.left_mm - p.right_mm - flats) > slack) continue;
    if (!run.down.empty() && p.down_mm - run.down.back() > kGapMm) run = {};
    run.add(p);
    if (run.length() > best.length()) best = run;
  }
  if (best.down.size() < 8 || best.length() < kLeastFlatsMm) return std::nullopt;
  if (thicker_share(outline, flats, slack) > kMostThicker) return std::nullopt;
  if (std::abs(trend(best.down, best.width).slope) > kMostFlatsSlope) return std::nullopt;
  return best;
}

/// Before the paper where they show there: in the jaws' shadow both borders wander.
std::optional<Middles> flats_of(const Outline& outline) {
  std::vector<OutlinePoint> before_paper;
  std::ranges::copy_if(outline.points, std::back_inserter(before_paper),
                       [](const OutlinePoint& p) { return p.before_paper; });
  if (auto flats = flats_among(before_paper, outline)) return flats;
  return flats_among(outline.points, outline);
}

/// Weighted mean of two readings of the lean.
void combine_lean(SectionAxis& axis, double lean, double u_lean) {
  const double w_card = 1.0 / (kCardUprightU * kCardUprightU), w = 1.0 / (u_lean * u_lean);
  axis.lean_rad = std::atan(lean * w / (w + w_card));
  axis.u_lean_rad = 1.0 / std::sqrt(w + w_card);
  axis.doubtful = std::abs(lean) > kDisagree * std::hypot(kCardUprightU, u_lean);
}

SectionAxis axis_from_flats(const Outline& outline, const Middles& m) {
  const Trend line = trend(m.down, m.middle);
  const double length = m.down.back() - m.down.front();
  const double wander = (m.in_shadow ? kShadowMiddleU_px : kMiddleWanderU_px) / outline.px_per_mm;
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
  Middles m;
  for (std::size_t i = first; i < end; ++i) m.add(outline.points[i]);
  const Trend line = trend(m.down, m.middle);
  SectionAxis axis;
  combine_lean(axis, line.slope, std::hypot(line.u_slope, kMedianLineU));
  const double deep = m.down.back() - 0.5 * kDeepShare * (m.down.back() - m.down.front());
  axis.through_mm = {line.value + line.slope * (deep - line.x), deep};
  axis.u_place_mm =
      std::hypot(std::max(kDeepEndU_mm, kDeepEndShare * m.width.back()), line.u_value);
  return axis;
}

}  // namespace

Eigen::Vector2d SectionAxis::direction() const { return {std::sin(lean_rad), std::cos(lean_rad)}; }
Eigen::Vector2d SectionAxis::across() const { return {std::cos(lean_rad), -std::sin(lean_rad)}; }

SectionAxis find_axis(const Outline& outline) {
  if (const std::optional<Middles> flats = flats_of(outline)) {
    return axis_from_flats(outline, *flats);
  }
  return axis_from_median(outline);
}

}  // namespace evenbevel::choil
