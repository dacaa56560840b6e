#include "extent.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "support.hpp"

namespace evenbevel::edge {
namespace {

/// Encoded grey, three rows averaged. Empty outside of the strip and of the picture.
std::optional<double> level(const CoarseStrip& strip, double s_mm, double t_mm) {
  const int column = static_cast<int>(std::lround((s_mm - strip.s0_mm) / strip.ds_mm));
  const int row = static_cast<int>(std::lround((t_mm - strip.t0_mm) / strip.dt_mm));
  if (column < 0 || column >= strip.grey.cols || row < 1 || row >= strip.grey.rows - 1) {
    return std::nullopt;
  }
  double sum = 0.0;
  for (int d = -1; d <= 1; ++d) sum += strip.grey.at<float>(row + d, column);
  return sum > 0.0 ? std::optional(sum / 3.0) : std::nullopt;  // Zero: outside of the picture.
}

/// Walking outward over the ricasso: the first place where nearly all rows change at once.
double ricasso_end_mm(const CoarseStrip& strip, const FlatsPair& flats, double from_mm,
                      double limit_mm, int direction) {
  constexpr std::array kShares = {-0.38, -0.28, -0.18, 0.0, 0.18, 0.28, 0.38};  // Of the width.
  constexpr int kNearlyAll = 6;
  constexpr double kAcrossMm = 2.0;      // The change is complete within this length.
  constexpr double kLeastChange = 0.22;  // Of the brighter level.
  constexpr double kLeastLevels = 10.0;
  for (int k = 0; k * strip.ds_mm < direction * (limit_mm - from_mm); ++k) {
    const double s = from_mm + direction * k * strip.ds_mm;
    int changed = 0;
    for (const double share : kShares) {
      const double across = share * flats.width_mm(s), next = s + direction * kAcrossMm;
      const auto here = level(strip, s, flats.mid_mm(s) + across);
      const auto there = level(strip, next, flats.mid_mm(next) + across);
      if (!here || !there) continue;
      const double change = std::abs(*here - *there);
      if (change > kLeastLevels && change > kLeastChange * std::max(*here, *there)) ++changed;
    }
    if (changed >= kNearlyAll) return s;
  }
  return limit_mm;
}

/// On which side the ricasso lies, 0: cannot be told. What shows between the jaws beyond the blade
/// may look as plain; the ricasso is the land's own face, and as bright.
int ricasso_side(const Support::Ricasso& below, const Support::Ricasso& above, Stage stage) {
  constexpr double kLeastStrength = 0.35;
  constexpr double kClearlyLess = 0.7;
  const bool may_below = below.strength > kLeastStrength;
  const bool may_above = above.strength > kLeastStrength;
  if (may_below && (!may_above || below.change < kClearlyLess * above.change)) return -1;
  if (may_above && (!may_below || above.change < kClearlyLess * below.change)) return +1;
  if (!may_below || stage != Stage::bevelled) return 0;
  return below.strength > above.strength ? -1 : +1;  // Without a ricasso there is no datum.
}

}  // namespace

BladeExtent blade_extent(const CoarseStrip& strip, double px_per_mm, const FlatsPair& flats,
                         const InnerTrace& trace, Stage stage) {
  constexpr double kBeyondMm = 0.5;
  BladeExtent extent{trace.s_begin_mm() - kBeyondMm, trace.s_end_mm() + kBeyondMm, 0};
  if (stage == Stage::scribed) {
    extent.s_begin_mm = std::max(extent.s_begin_mm, flats.s_begin_mm);
    extent.s_end_mm = std::min(extent.s_end_mm, flats.s_end_mm);
    return extent;
  }
  const Support support(strip, px_per_mm);
  const auto [below, above] = support.ricassos(flats, trace);
  const int side = ricasso_side(below, above, stage);
  if (side == 0) return extent;
  if (side < 0) {
    extent.handle = -1;
    extent.s_begin_mm = ricasso_end_mm(strip, flats, below.s_end_mm, below.s_begin_mm, -1);
    if (stage == Stage::bevelled) extent.s_end_mm = below.s_end_mm;
  } else {
    extent.handle = +1;
    extent.s_end_mm = ricasso_end_mm(strip, flats, above.s_begin_mm, above.s_end_mm, +1);
    if (stage == Stage::bevelled) extent.s_begin_mm = above.s_begin_mm;
  }
  return extent;
}

}  // namespace evenbevel::edge
