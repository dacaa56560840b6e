#include <algorithm>
#include <cmath>

#include "plunge_levels.hpp"

namespace evenbevel::edge {
namespace {

double normal_share(double z) {
  constexpr double kFar = 5.0;  // From there on it is nothing or all, to 3e-7.
  if (std::abs(z) > kFar) return z > 0.0 ? 1.0 : 0.0;
  return 0.5 * std::erfc(-z / std::sqrt(2.0));
}

template <class InsideMm>
PlacedSamples place(const PlungePatch& patch, const PlungeOutline& outline,
                    const InsideMm& inside_mm) {
  const auto count = static_cast<Eigen::Index>(patch.samples.size());
  PlacedSamples placed{Eigen::VectorXd(count), Eigen::VectorXd(count)};
  for (Eigen::Index i = 0; i < count; ++i) {
    const PlungePatch::Sample& s = patch.samples[static_cast<std::size_t>(i)];
    placed.facet[i] = normal_share(inside_mm(s.a_mm, s.y_mm) / outline.blur_mm);
    placed.along_mm[i] = s.a_mm + outline.lean * (outline.depth_mm - s.y_mm);
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
  return outline.radius_mm - std::hypot(a_mm - end_mm, above);
}

}  // namespace

PlungePatch PlungePatch::between(double from_mm, double to_mm) const {
  PlungePatch part;
  part.rows = rows;
  part.a_begin_mm = std::max(from_mm, a_begin_mm), part.a_end_mm = std::min(to_mm, a_end_mm);
  for (const Sample& s : samples) {
    if (s.a_mm >= part.a_begin_mm && s.a_mm <= part.a_end_mm) part.samples.push_back(s);
  }
  part.columns = static_cast<int>(part.samples.size()) / std::max(rows, 1);
  return part;
}

PlungePatch PlungePatch::halved() const {
  PlungePatch half;
  half.rows = rows, half.columns = columns / 2;
  half.a_begin_mm = a_begin_mm, half.a_end_mm = a_end_mm;
  for (int r = 0; r < rows; ++r) {
    for (int c = 0; c < half.columns; ++c) {
      const auto index = static_cast<std::size_t>(r * columns + 2 * c);
      const Sample &a = samples[index], &b = samples[index + 1];
      half.samples.push_back({0.5 * (a.a_mm + b.a_mm), a.y_mm, a.row, 0.5 * (a.light + b.light)});
    }
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

PlungeMisfit plunge_misfit(const PlungePatch& patch, const PlungeOutline& outline) {
  const double end = outline.end_mm();
  return levels_misfit(patch, place(patch, outline, [&](double a, double y) {
                         return inside_of(outline, end, a, y);
                       }));
}

PlungeMisfit straight_misfit(const PlungePatch& patch, const PlungeOutline& outline, double cut_mm,
                             double cut_lean) {
  return levels_misfit(patch, place(patch, outline, [&](double a, double y) {
                         return std::min(a - cut_mm - cut_lean * y, outline.depth_mm - y);
                       }));
}

}  // namespace evenbevel::edge
