#include "extent.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

namespace evenbevel::edge {
namespace {

constexpr double kPlungeMm = 5.0;  // Longest way from the land's end to the full-width ricasso.

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

/// How much the brightness along the land's own row changes past its end: |log ratio| of light.
std::optional<double> change_past_end(const CoarseStrip& strip, const FlatsPair& flats,
                                      const InnerTrace& trace, int direction) {
  const double end = direction > 0 ? trace.s_end_mm() : trace.s_begin_mm();
  const InnerTrace::Place land = trace.at(end - direction * kPlungeMm);
  const double from_mid = 0.5 * (land.low_mm + land.high_mm) - flats.mid_mm(land.s_mm);
  const auto mean = [&](double from, double to) -> std::optional<double> {
    double sum = 0.0;
    int count = 0;
    for (double d = from; d <= to; d += strip.ds_mm) {
      const double s = end + direction * d;
      if (const auto here = level(strip, s, flats.mid_mm(s) + from_mid)) {
        sum += std::pow(*here / 255.0, 2.2);
        ++count;
      }
    }
    return count >= 4 ? std::optional(sum / count) : std::nullopt;
  };
  const auto inside = mean(-6.0, -2.0), outside = mean(kPlungeMm, kPlungeMm + 4.0);
  if (!inside || !outside) return std::nullopt;
  return std::abs(std::log(std::max(*outside, 1e-4) / std::max(*inside, 1e-4)));
}

/// Walking outward over the ricasso: the first place where nearly all rows change at once.
double ricasso_end_mm(const CoarseStrip& strip, const FlatsPair& flats, double from_mm,
                      double limit_mm, int direction) {
  constexpr std::array kShares = {-0.38, -0.28, -0.18, 0.0, 0.18, 0.28, 0.38};  // Of the width.
  constexpr int kNearlyAll = 6;
  constexpr double kAcrossMm = 2.0;      // The change is complete within this length.
  constexpr double kLeastChange = 0.22;  // Of the brighter level.
  constexpr double kLeastLevels = 10.0;
  for (double s = from_mm; direction * (limit_mm - s) > 0.0; s += direction * strip.ds_mm) {
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

}  // namespace

BladeExtent blade_extent(const CoarseStrip& strip, const FlatsPair& flats, const InnerTrace& trace,
                         bool has_ricasso) {
  constexpr double kBeyondMm = 0.5;
  constexpr double kMostChange = 1.4;  // A ricasso is within a factor of four of the land.
  constexpr double kLeastRicassoMm = 4.0;
  BladeExtent extent{std::max(flats.s_begin_mm, trace.s_begin_mm() - kBeyondMm),
                     std::min(flats.s_end_mm, trace.s_end_mm() + kBeyondMm), 0};
  if (!has_ricasso) return extent;
  const double below_mm = trace.s_begin_mm() - flats.s_begin_mm;
  const double above_mm = flats.s_end_mm - trace.s_end_mm();
  const auto below = change_past_end(strip, flats, trace, -1);
  const auto above = change_past_end(strip, flats, trace, +1);
  const bool may_below = below && *below < kMostChange && below_mm > kLeastRicassoMm;
  const bool may_above = above && *above < kMostChange && above_mm > kLeastRicassoMm;
  if (may_below && (!above || !may_above || *below < 0.7 * *above)) extent.handle = -1;
  if (may_above && (!below || !may_below || *above < 0.7 * *below)) extent.handle = +1;
  if (extent.handle < 0) {
    extent.s_begin_mm =
        ricasso_end_mm(strip, flats, trace.s_begin_mm() - kPlungeMm, flats.s_begin_mm, -1);
  }
  if (extent.handle > 0) {
    extent.s_end_mm =
        ricasso_end_mm(strip, flats, trace.s_end_mm() + kPlungeMm, flats.s_end_mm, +1);
  }
  return extent;
}

}  // namespace evenbevel::edge
