#include "edge_check.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"
#include "far_border.hpp"
#include "fit/straight.hpp"
#include "light_step.hpp"
#include "rough_course.hpp"

namespace evenbevel::choil {
namespace {

constexpr double kSameMm = 0.25;         // Two ends closer than this are one, seen through blur.
constexpr double kLeastMatters = 0.010;  // mm of thickness.

/// The edge and the paper about it, in the plane.
class Surroundings {
 public:
  Surroundings(const Patch& patch, const SectionPlane& plane, const Outline& outline)
      : patch_(patch), plane_(plane), outline_(outline) {
    std::vector<Eigen::Vector2d> widths;
    constexpr double kNearMm = 2.0;
    for (const OutlinePoint& p : outline.points) {
      const double depth = p.down_mm - outline.edge_down_mm;
      if (depth < kNearMm) widths.emplace_back(depth, p.left_mm - p.right_mm);
    }
    if (const auto line = straight_through(widths)) {
      growth_ = std::abs(line->slope);
      width_mm_ = std::max(line->value, 2.0 / outline.px_per_mm);
    }
  }

  double width_mm() const { return width_mm_; }
  double growth() const { return growth_; }

  /// Mean light of a rectangle, `beside_mm` off the edge's middle.
  double mean(double beside_mm, double half_mm, double from_mm, double to_mm) const {
    const std::vector<ProfileSample> samples = down(beside_mm, half_mm, from_mm, to_mm);
    double sum = 0.0, pixels = 0.0;
    for (const ProfileSample& s : samples) {
      sum += s.weight * s.value;
      pixels += s.weight;
    }
    return pixels > 0.0 ? sum / pixels : 0.0;
  }

  /// Light down along the section, t in px from the edge.
  std::vector<ProfileSample> down(double beside_mm, double half_mm, double from_mm,
                                  double to_mm) const {
    const Band band{.middle_mm = {outline_.edge_y_mm + beside_mm, outline_.edge_down_mm},
                    .along_y = false,
                    .half_width_mm = half_mm,
                    .low_mm = from_mm,
                    .high_mm = to_mm};
    return band_profile(patch_, plane_, band, outline_.px_per_mm);
  }

 private:
  const Patch& patch_;
  const SectionPlane& plane_;
  const Outline& outline_;
  double width_mm_ = 0.2, growth_ = 0.0;
};

/// Height over which something else than paper stands above `top_mm` (from the edge, negative
/// upward), without a gap.
double goes_on_mm(const Surroundings& around, double top_mm, double blur_mm, double lane_mm) {
  constexpr double kBandMm = 0.4, kReachMm = 4.0, kBesideMm = 0.7, kHalfMm = 0.25;
  constexpr double kUnlikePaper = 0.045;  // More than a sheet's own shades a mm apart.
  const double half = 0.5 * around.width_mm(), out = half + kBesideMm;
  const double first = top_mm - 0.15 - 4.0 * blur_mm;  // Clear of blur and sharpening.
  double last = first;
  for (double at = first; at - kBandMm > std::max(top_mm - kReachMm, lane_mm); at -= kBandMm) {
    const double own = around.mean(0.0, half, at - kBandMm, at);
    const double left = around.mean(out, kHalfMm, at - kBandMm, at);
    const double right = around.mean(-out, kHalfMm, at - kBandMm, at);
    const double paper = 0.5 * (left + right);
    const double allowed = std::max(kUnlikePaper * paper, std::abs(left - right));
    if (std::abs(own - paper) <= allowed) break;
    last = at - kBandMm;
  }
  return first - last;
}

/// Light that changes at once at the edge, and not little by little about it: as much of the
/// change over `about_mm` as the end of a face makes.
bool ends_sharply(const Surroundings& around, double about_mm, double blur_mm, double paper) {
  constexpr double kLeastStep = 0.05, kLeastShare = 0.5, kWithin = 0.35;
  const double half = kWithin * around.width_mm(), clear = 2.5 * blur_mm;
  const auto side = [&](double from, double to) {
    std::vector<Eigen::Vector2d> points;
    for (const ProfileSample& s : around.down(0.0, half, from, to)) {
      points.emplace_back(s.t_px, s.value);
    }
    return std::pair(straight_through(points), points);
  };
  const auto [above, above_points] = side(-std::max(about_mm, clear + 0.2), -clear);
  const auto [below, below_points] = side(clear, clear + std::max(about_mm, 0.4));
  if (!above || !below) return false;
  const auto middle = [](const std::vector<Eigen::Vector2d>& points) {
    std::vector<double> values;
    for (const Eigen::Vector2d& p : points) values.push_back(p.y());
    return median(values);
  };
  const double change = middle(below_points) - middle(above_points);
  const double step = below->value - above->value;
  return std::abs(step) > kLeastStep * paper && step * change > kLeastShare * change * change;
}

/// Whether the light of the section's first `shown_mm` is another than that below: a land that
/// mirrors the paper, as it does along its length, shows above the edge as paper does.
bool changes_below(const Surroundings& around, const ShownAbove& shown, double blur_mm,
                   double contrast) {
  constexpr double kLeastChange = 0.06, kWithin = 0.3;
  const double half = kWithin * around.width_mm(), clear = 3.0 * blur_mm;
  const double upper = around.mean(0.0, half, clear, std::max(shown.least_mm, clear + 0.1));
  const double lower = around.mean(0.0, half, shown.most_mm + clear, shown.most_mm + clear + 0.6);
  return std::abs(upper - lower) > kLeastChange * std::abs(contrast);
}

/// Whether the far border shows that nothing of the land behind was taken for the end face's first
/// `shown_mm`: it would turn there, and does not.
bool parted_by_far_border(const RoughSection& rough, const SectionPlane& plane,
                          const Outline& outline, double shown_mm) {
  constexpr double kLeastTurn = 0.5;  // mm a mm: four times what passes for straight over 0.5 mm.
  const double below_mm = outline.edge_down_mm + shown_mm;
  const std::optional<Straight> course = course_below(rough.far_mm, below_mm);
  if (!course) return false;
  const Eigen::Vector2d edge(outline.edge_y_mm, outline.edge_down_mm);
  const Eigen::Vector2d land = plane.foot_mm() - edge;  // Lines along the blade lead to the foot.
  return std::abs(land.x() / land.y() - course->slope) > kLeastTurn &&
         far_border_runs_on(rough.far_mm, below_mm, shown_mm);
}

/// Light along the middle of what was found of the section, (mm below the edge, light).
std::vector<Eigen::Vector2d> along_section(const Surroundings& around, const RoughSection& rough,
                                           const Outline& outline, double from_mm, double to_mm) {
  constexpr double kBinMm = 0.05, kWithin = 0.3;
  const RoughCourse course(rough);
  std::vector<Eigen::Vector2d> light;
  for (double top = from_mm; top < to_mm; top += kBinMm) {
    const double middle = top + 0.5 * kBinMm;
    const auto at = course.at(outline.edge_down_mm + middle);
    if (!at || !at->before_paper) break;
    const double beside = 0.5 * (at->left_mm + at->right_mm) - outline.edge_y_mm;
    const double half = std::max(kWithin * (at->left_mm - at->right_mm), 1.0 / outline.px_per_mm);
    light.emplace_back(middle, around.mean(beside, half, top, top + kBinMm));
  }
  return light;
}

/// By how much a mm the section opens below the place, where it is not the land's width.
double growth_below(const RoughSection& rough, double down_mm) {
  constexpr double kOverMm = 2.0;
  std::vector<Eigen::Vector2d> widths;
  for (const RoughRow& row : rough.rows) {
    const double below = row.down_mm - down_mm;
    if (below > 0.0 && below < kOverMm) widths.emplace_back(below, row.left_mm - row.right_mm);
  }
  const std::optional<Straight> line = straight_through(widths);
  return line ? std::abs(line->slope) : 0.0;
}

/// What below the edge found ends a face too, and may be the end face's edge: the land behind may
/// show above it as far as that, and both its borders run on into the end face's when the camera
/// stands right along the blade. Empty: nothing does, or nothing by which a thickness changes.
std::optional<EdgeDoubt> doubt_by_land(const Patch& patch, const SectionPlane& plane,
                                       const RoughSection& rough, const Outline& outline) {
  constexpr double kReachMm = 0.6;      // Below it, to see what begins there.
  constexpr double kStrayShare = 0.01;  // Of paper minus steel: less is any light's own.
  const Surroundings around(patch, plane, outline);
  const double most_mm = shown_above(plane, outline.edge_down_mm).most_mm + kSameMm;
  const double clear_mm = 2.5 * outline.blur_px / outline.px_per_mm;
  const std::vector<Eigen::Vector2d> light =
      along_section(around, rough, outline, clear_mm, most_mm + kReachMm);
  const auto step = light_step(light, clear_mm, kStrayShare * std::abs(outline.contrast));
  if (!step || *step < kSameMm || *step > most_mm) return std::nullopt;
  const double thickness_mm = *step * growth_below(rough, outline.edge_down_mm + *step);
  if (thickness_mm < kLeastMatters) return std::nullopt;
  return EdgeDoubt{EdgeDoubt::Kind::unparted, *step, thickness_mm};
}

}  // namespace

ShownAbove shown_above(const SectionPlane& plane, double edge_down_mm) {
  constexpr double kShortMm = 60.0, kLongMm = 300.0;  // Blades made in small shops.
  const double slant = std::tan(1.0 * kPi / 180.0);   // Set in the jaws by eye.
  const double above = edge_down_mm - plane.foot_mm().y(), distance = plane.distance_mm();
  const auto shown = [&](double length, double rise) {
    return std::max(0.0, (above + rise) * length / (distance + length));
  };
  return {shown(kShortMm, -slant * kShortMm), shown(kLongMm, slant * kLongMm)};
}

double u_over_the_edge_mm(const ShownAbove& shown) {
  constexpr double kU_mm = 0.1;  // Ends of random adverse scenes seen so: 0.04 to 0.19 mm off.
  return shown.least_mm > kSameMm ? kU_mm : 0.0;
}

std::optional<EdgeDoubt> doubt_edge(const Patch& patch, const SectionPlane& plane,
                                    const RoughSection& rough, const Outline& outline) {
  constexpr double kLaneTopMm = -29.0;  // Of the card's cut-out, its own rim left out.
  const Surroundings around(patch, plane, outline);
  const double blur_mm = outline.blur_px / outline.px_per_mm;
  const double top_mm = std::min(rough.top_down_mm - outline.edge_down_mm, 0.0);
  const double matters = kLeastMatters / std::max(around.growth(), 1e-4);
  const auto doubt = [&](EdgeDoubt::Kind kind, double by) {
    return EdgeDoubt{kind, by, around.growth() * by};
  };

  const double more = goes_on_mm(around, top_mm, blur_mm, kLaneTopMm - outline.edge_down_mm);
  if (more > 2.0 * kSameMm) return doubt(EdgeDoubt::Kind::goes_on, more - top_mm);
  const ShownAbove shown = shown_above(plane, outline.edge_down_mm);
  if (const auto by_land = doubt_by_land(patch, plane, rough, outline)) return by_land;
  const double claimed = -top_mm;
  if (claimed > kSameMm) {
    if (claimed > shown.most_mm + kSameMm ||
        far_border_runs_on(rough.far_mm, outline.edge_down_mm, claimed) ||
        !ends_sharply(around, std::min(claimed, 0.8), blur_mm, outline.contrast)) {
      if (claimed > matters) return doubt(EdgeDoubt::Kind::no_end, claimed);
    }
    return std::nullopt;
  }
  if (shown.least_mm > std::max(kSameMm, matters) &&
      changes_below(around, shown, blur_mm, outline.contrast) &&
      !parted_by_far_border(rough, plane, outline, shown.least_mm)) {
    return doubt(EdgeDoubt::Kind::unparted, shown.least_mm);
  }
  return std::nullopt;
}

}  // namespace evenbevel::choil
