#include "pair_shape.hpp"

#include <algorithm>
#include <cmath>

#include "evenbevel/fit.hpp"
#include "inner_fit.hpp"

namespace evenbevel::edge {
namespace {

/// The inner pair's fit with a blur near the plan's: with a free one, two lines would pass for a
/// narrow land, and a land for two lines.
std::optional<ProfileFit> fit_at_about(const Samples& samples, double half_px,
                                       const ReadingPlan& plan, double px_per_mm, double clip) {
  const double most_factor = plan.blur_is_known ? 1.35 : 2.0;
  return fit_inner(samples, -half_px, half_px, plan, px_per_mm,
                   {.start_px = plan.blur_px,
                    .least_px = plan.blur_px / most_factor,
                    .most_px = plan.blur_px * most_factor},
                   clip);
}

/// A long band along the followed pair: noise and scratches average out, and what remains is the
/// shape of the profile.
struct LongBand {
  double s_mm, mid_mm, slope, half_length_mm, gap_mm;
};

std::vector<LongBand> long_bands(const InnerTrace& inner) {
  constexpr int kMost = 8;
  constexpr double kMostMm = 12.0;
  const double length = inner.s_end_mm() - inner.s_begin_mm();
  const int count = std::clamp(static_cast<int>(std::ceil(length / kMostMm)), 2, kMost);
  std::vector<LongBand> bands;
  for (int i = 0; i < count; ++i) {
    const double half = std::min(0.5 * kMostMm, 0.5 * length / count);
    const double s = inner.s_begin_mm() + (i + 0.5) * length / count;
    std::vector<Eigen::Vector2d> mids;
    std::vector<double> gaps;
    for (const InnerTrace::Place& p : inner.places) {
      if (std::abs(p.s_mm - s) > half) continue;
      mids.emplace_back(p.s_mm, 0.5 * (p.low_mm + p.high_mm));
      gaps.push_back(p.high_mm - p.low_mm);
    }
    if (mids.size() < 6) continue;
    const LineFit line = fit_line_robust(mids);
    const double slope = std::tan(line.direction_rad);
    bands.push_back(
        {s, line.centre.y() + slope * (s - line.centre.x()), slope, half, median(gaps)});
  }
  return bands;
}

/// What a long band shows from rim to rim.
Samples profile_of(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                   const LongBand& at, double px_per_mm) {
  const double reach_mm = 0.5 * flats.width_mm(at.s_mm);
  return band_profile(image, &LaneImage::grey, frame,
                      {.s_mm = at.s_mm,
                       .t_mid_mm = at.mid_mm,
                       .slope = at.slope,
                       .half_length_mm = at.half_length_mm,
                       .t_low_mm = -reach_mm,
                       .t_high_mm = reach_mm},
                      px_per_mm);
}

}  // namespace

double third_border_share(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                          const InnerTrace& inner, const ReadingPlan& plan) {
  constexpr double kBesidePx = 2.0;
  // A strip as narrow as its blur needs better evidence than a broad one. Sums of squares.
  constexpr double kBroadPx = 1.3, kClearlyBetter = 0.5;
  constexpr double kNarrowPx = 0.7, kPlainlyBetter = 0.25;
  constexpr double kLeastStep = 0.12;  // Of the stronger border's.
  const std::vector<LongBand> bands = long_bands(inner);
  double with_third = 0.0;
  for (const LongBand& at : bands) {
    const double px_per_mm = frame.px_per_mm_across(at.s_mm, at.mid_mm);
    const double half_px = 0.5 * at.gap_mm * px_per_mm;
    const Samples part = window(profile_of(image, frame, flats, at, px_per_mm),
                                -half_px - kBesidePx, half_px + kBesidePx);
    const auto steps = [&](std::vector<double> at_px) {
      ProfileModel model{.positions_px = std::move(at_px),
                         .parts = {},
                         .blur_px = plan.blur_px,
                         .clip = image.clip};
      for (std::size_t i = 0; i < model.positions_px.size(); ++i)
        model.parts.push_back({.position = static_cast<int>(i)});
      return fit_profile(part, std::move(model));
    };
    const ProfileFit two = steps({-half_px, half_px});
    bool third = false;
    for (const double share : {-0.5, 0.0, 0.5}) {
      const ProfileFit three = steps({-half_px, share * half_px, half_px});
      if (!three.converged || three.misfit > kClearlyBetter * two.misfit) continue;
      const std::vector<double>& p = three.model.positions_px;
      const auto size = [&](std::size_t i) { return std::abs(three.model.parts[i].amplitude); };
      const double least_px = three.misfit < kPlainlyBetter * two.misfit ? kNarrowPx : kBroadPx;
      third = third || (p[1] - p[0] > least_px && p[2] - p[1] > least_px &&
                        size(1) > kLeastStep * std::max(size(0), size(2)));
    }
    if (third) with_third += 1.0;
  }
  return bands.empty() ? 0.0 : with_third / static_cast<double>(bands.size());
}

double mean_log_misfit(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                       const InnerTrace& inner, const ReadingPlan& plan, double needed) {
  constexpr double kLeastRelative = 0.003, kNoFit = 0.5;
  const double least_log = std::log(kLeastRelative);
  const std::vector<LongBand> bands = long_bands(inner);
  if (bands.empty()) return 0.0;
  const auto count = static_cast<double>(bands.size());
  double above_least = 0.0;
  for (const LongBand& at : bands) {
    if (least_log + above_least / count > needed) break;
    const double px_per_mm = frame.px_per_mm_across(at.s_mm, at.mid_mm);
    const Samples samples = profile_of(image, frame, flats, at, px_per_mm);
    const double half_px = 0.5 * at.gap_mm * px_per_mm;
    const auto fit = fit_at_about(samples, half_px, plan, px_per_mm, image.clip);
    double largest = 1e-6, smallest = 1.0;
    for (const ProfileSample& p : window(samples, -half_px - 3.0, half_px + 3.0)) {
      largest = std::max(largest, p.value);
      smallest = std::min(smallest, p.value);
    }
    const double relative =
        fit ? std::max(fit->rms / std::max(largest - smallest, 1e-4), kLeastRelative) : kNoFit;
    above_least += std::log(relative) - least_log;
  }
  return least_log + above_least / count;
}

}  // namespace evenbevel::edge
