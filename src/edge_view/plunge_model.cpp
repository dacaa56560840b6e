#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "plunge_levels.hpp"

namespace evenbevel::edge {
namespace {

constexpr double kFar = 5.0;  // Blurs; from there on it is nothing or all, to 3e-7.

double normal_share(double z) { return z > kFar ? 1.0 : 0.5 * std::erfc(-z / std::numbers::sqrt2); }

/// @param inside_mm  As PlungeOutline::inside_mm; grows along the blade up to the distance from the
///                   land's border.
template <class InsideMm>
PlacedPatch place(const PlungePatch& patch, const PlungeOutline& outline,
                  const InsideMm& inside_mm) {
  PlacedPatch placed{std::vector<PlacedRow>(patch.y_mm.size()),
                     PlungeGrid(patch.rows(), patch.columns())};
  const double far_mm = kFar * outline.blur_mm;
  for (int r = 0; r < patch.rows(); ++r) {
    const double y = patch.y_mm[static_cast<std::size_t>(r)], most_mm = outline.depth_mm - y;
    const auto mixed = std::ranges::partition_point(
        patch.a_mm, [&](double a) { return inside_mm(a, y) < -far_mm; });
    const auto steady = std::partition_point(mixed, patch.a_mm.end(), [&](double a) {
      return inside_mm(a, y) < std::min(most_mm, far_mm);
    });
    PlacedRow& row = placed.rows[static_cast<std::size_t>(r)];
    row.mixed = static_cast<int>(mixed - patch.a_mm.begin());
    row.steady = static_cast<int>(steady - patch.a_mm.begin());
    row.lean_mm = outline.lean * most_mm;
    for (int c = row.mixed; c < row.steady; ++c) {
      const double a = patch.a_mm[static_cast<std::size_t>(c)];
      placed.facet(r, c) = normal_share(inside_mm(a, y) / outline.blur_mm);
    }
    placed.facet.row(r)
        .tail(patch.columns() - row.steady)
        .setConstant(normal_share(most_mm / outline.blur_mm));
  }
  return placed;
}

/// Along the blade from where the arc has risen to its end.
double run_mm(double radius_mm, double rise_mm) {
  const double rest = radius_mm - rise_mm;
  return std::sqrt(std::max(0.0, radius_mm * radius_mm - rest * rest));
}

/// As PlungeOutline::inside_mm, for an outline whose end is known.
double inside_of(const PlungeOutline& outline, double end_mm, double a_mm, double y_mm) {
  if (a_mm >= end_mm) return outline.depth_mm - y_mm;
  // The arc's centre lies outside of the rim.
  const double above = y_mm - (outline.depth_mm - outline.radius_mm);
  if (above <= 0.0) return a_mm - (end_mm - outline.radius_mm);
  const double beside = end_mm - a_mm;
  return outline.radius_mm - std::sqrt(beside * beside + above * above);
}

PlacedPatch by_outline(const PlungePatch& patch, const PlungeOutline& outline) {
  const double end = outline.end_mm();
  return place(patch, outline, [&](double a, double y) { return inside_of(outline, end, a, y); });
}

}  // namespace

PlungePatch PlungePatch::between(double from_mm, double to_mm) const {
  const auto begin = std::ranges::lower_bound(a_mm, from_mm);
  const auto end = std::upper_bound(begin, a_mm.end(), to_mm);
  return {.a_mm = {begin, end},
          .y_mm = y_mm,
          .light = light.middleCols(begin - a_mm.begin(), end - begin),
          .a_begin_mm = std::max(from_mm, a_begin_mm),
          .a_end_mm = std::min(to_mm, a_end_mm)};
}

PlungePatch PlungePatch::halved() const {
  PlungePatch half{.a_mm = std::vector<double>(a_mm.size() / 2),
                   .y_mm = y_mm,
                   .light = PlungeGrid(rows(), columns() / 2),
                   .a_begin_mm = a_begin_mm,
                   .a_end_mm = a_end_mm};
  for (std::size_t c = 0; c < half.a_mm.size(); ++c)
    half.a_mm[c] = 0.5 * (a_mm[2 * c] + a_mm[2 * c + 1]);
  for (int r = 0; r < rows(); ++r) {
    for (Eigen::Index c = 0; c < half.columns(); ++c)
      half.light(r, c) = 0.5 * (light(r, 2 * c) + light(r, 2 * c + 1));
  }
  return half;
}

double PlungeOutline::end_mm() const { return half_mm + run_mm(radius_mm, 0.5 * depth_mm); }

double PlungeOutline::start_mm() const { return end_mm() - run_mm(radius_mm, depth_mm); }

double PlungeOutline::run_at_half() const {
  return (radius_mm - 0.5 * depth_mm) / run_mm(radius_mm, 0.5 * depth_mm);
}

PlungeOutline PlungeOutline::with_depth(double depth) const {
  PlungeOutline other = *this;
  other.depth_mm = depth;
  other.half_mm = end_mm() - run_mm(radius_mm, 0.5 * depth);
  return other;
}

double PlungeOutline::inside_mm(double a_mm, double y_mm) const {
  return inside_of(*this, end_mm(), a_mm, y_mm);
}

double plunge_loss(const PlungePatch& patch, const PlungeOutline& outline) {
  return fit_levels(patch, by_outline(patch, outline)).loss;
}

PlungeMisfit plunge_misfit(const PlungePatch& patch, const PlungeOutline& outline) {
  const PlacedPatch placed = by_outline(patch, outline);
  const LevelsFit fit = fit_levels(patch, placed);
  PlungeMisfit out{.loss = PlungeGrid(patch.rows(), patch.columns()), .residuals = fit.missed};
  for_runs(placed, [&](const PlacedRun& run) {
    const double variance = fit.variance.of(run.facet);
    auto residuals = out.residuals.row(run.row).segment(run.begin, run.count()).array();
    residuals /= std::sqrt(variance);
    out.loss.row(run.row).segment(run.begin, run.count()) =
        0.5 * (std::log(variance) + residuals.square());
  });
  return out;
}

double straight_loss(const PlungePatch& patch, const PlungeOutline& outline, double cut_mm,
                     double cut_lean) {
  const PlacedPatch placed = place(patch, outline, [&](double a, double y) {
    return std::min(a - cut_mm - cut_lean * y, outline.depth_mm - y);
  });
  return fit_levels(patch, placed).loss;
}

}  // namespace evenbevel::edge
