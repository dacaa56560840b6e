#include "focus.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "evenbevel/trace.hpp"

namespace evenbevel::choil {
namespace {

constexpr double kReachPx = 7.0;      // Room on either side of a border,
constexpr double kLeastRoomPx = 3.5;  // and the least that shows its softness.

/// Slope of a side at a point, mm per mm, from its neighbours.
double lean(const std::vector<OutlinePoint>& points, std::size_t i, double OutlinePoint::*place) {
  const OutlinePoint& above = points[i > 0 ? i - 1 : i];
  const OutlinePoint& below = points[std::min(i + 1, points.size() - 1)];
  const double apart = below.down_mm - above.down_mm;
  return apart > 1e-6 ? (below.*place - above.*place) / apart : 0.0;
}

/// Gaussian sigma of the border, px; 0: not to be told.
double softness(const Outline& outline, std::size_t i, double OutlinePoint::*place, int outward,
                const Patch& patch, const SectionPlane& plane) {
  const OutlinePoint& point = outline.points[i];
  const double ppm = plane.px_per_mm({point.*place, point.down_mm});
  const double inside = std::min(kReachPx, 0.5 * (point.left_mm - point.right_mm) * ppm);
  if (inside < kLeastRoomPx) return 0.0;
  const Band band{.middle_mm = {point.*place, point.down_mm},
                  .lean = lean(outline.points, i, place),
                  .half_width_mm = std::max(point.half_band_mm, 0.1),
                  .low_mm = -(outward > 0 ? inside : kReachPx) / ppm,
                  .high_mm = (outward > 0 ? kReachPx : inside) / ppm};
  const ProfileFit fit = fit_step(band_profile(patch, plane, band, ppm), 0.0, outline.blur_px);
  constexpr double kLeastStep = 0.15, kNearPx = 2.0;
  if (!fit.converged || std::abs(fit.model.positions_px[0]) > kNearPx) return 0.0;
  if (std::abs(fit.model.parts[0].amplitude) < kLeastStep * std::abs(outline.contrast)) return 0.0;
  return fit.model.blur_px;
}

}  // namespace

void drop_unfocused(Outline& outline, const Patch& patch, const SectionPlane& plane,
                    const std::function<double(double down_mm)>& shown_px) {
  constexpr double kSofter = 1.8, kSofterPx = 0.5, kNothingPx = 1.0;
  const double most = kSofter * outline.blur_px + kSofterPx;
  std::vector<OutlinePoint> kept;
  for (std::size_t i = 0; i < outline.points.size(); ++i) {
    const bool soft = outline.points[i].before_paper &&
                      shown_px(outline.points[i].down_mm) < kNothingPx &&
                      (softness(outline, i, &OutlinePoint::left_mm, 1, patch, plane) > most ||
                       softness(outline, i, &OutlinePoint::right_mm, -1, patch, plane) > most);
    if (!soft) kept.push_back(outline.points[i]);
  }
  outline.dropped += static_cast<int>(outline.points.size() - kept.size());
  outline.points = kept;
}

double fringe_px(double border_blur_px, double card_blur_px) {
  // Of 28 random scenes (3000-3029): 0.97 to 1.05 of the card's, the end up to a mm off its plane.
  constexpr double kAsSharp = 1.06;
  const double expected = kAsSharp * card_blur_px;
  if (card_blur_px <= 0.0 || border_blur_px <= expected) return 0.0;
  // A strip of light halfway between end and paper: its standard deviation is its shift.
  return std::sqrt(border_blur_px * border_blur_px - expected * expected);
}

}  // namespace evenbevel::choil
