#include "metric.hpp"

#include <algorithm>
#include <cmath>
#include <functional>

#include "border/light_bias.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel::choil {
namespace {

// Near its edge a section bends as it does over its range but for so much, mm per mm twice: an arc
// that is none, a side eased by hand (no source).
constexpr double kEdgeBendU = 0.01;
constexpr double kEndBlurs = 2.0;  // So near to the edge's end, paper above shines into the rows.
// The heel's end and the card are brought into one plane by eye (common practice, no source).
constexpr double kPlaneU_mm = 0.5;
constexpr double kSquareU = 1.5 * kPi / 180.0;  // The end ground square to the blade.

double square(double x) { return x * x; }

/// The section in its own frame: depth from the edge, y from the axis.
class Sections {
 public:
  Sections(const Outline& outline, const SectionAxis& axis)
      : outline_(outline), axis_(axis), edge_(outline.edge_y_mm, outline.edge_down_mm) {
    for (int round = 0; round < 3; ++round) {
      fill();
      settle_edge();
    }
    fill();
    scatter_left_ = scatter_over_u(left_);
    scatter_right_ = scatter_over_u(right_);
  }

  const std::vector<SidePoint>& left() const { return left_; }
  const std::vector<SidePoint>& right() const { return right_; }
  const std::vector<SidePoint>& width() const { return width_; }
  double scatter_left() const { return scatter_left_; }
  double scatter_right() const { return scatter_right_; }

  /// Plane's mm of a point of the section.
  Eigen::Vector2d point(double y_mm, double depth_mm) const {
    const double at_edge = (edge_ - axis_.through_mm).dot(axis_.across());
    return edge_ + depth_mm * axis_.direction() + (y_mm - at_edge) * axis_.across();
  }
  /// Distance along the axis from the point at which it is known best.
  double from_axis_point(double depth_mm) const {
    return (edge_ - axis_.through_mm).dot(axis_.direction()) + depth_mm;
  }
  double depth_of(const Eigen::Vector2d& p_mm) const {
    return (p_mm - edge_).dot(axis_.direction());
  }
  double last_depth(bool before_paper) const {
    double last = 0.0;
    for (const OutlinePoint& p : outline_.points) {
      if (p.before_paper || !before_paper) last = std::max(last, p.down_mm - edge_.y());
    }
    return last;
  }

 private:
  void fill() {
    left_.clear();
    right_.clear();
    width_.clear();
    const double clear_mm = kEndBlurs * outline_.blur_px / outline_.px_per_mm;
    for (const OutlinePoint& p : outline_.points) {
      if (p.down_mm - outline_.edge_down_mm < clear_mm) continue;
      const Eigen::Vector2d on_left(p.left_mm, p.down_mm), on_right(p.right_mm, p.down_mm);
      const auto y = [&](const Eigen::Vector2d& q) {
        return (q - axis_.through_mm).dot(axis_.across());
      };
      left_.push_back({depth_of(on_left), y(on_left), p.u_left_mm});
      right_.push_back({depth_of(on_right), -y(on_right), p.u_right_mm});
      width_.push_back({0.5 * (left_.back().depth_mm + right_.back().depth_mm),
                        y(on_left) - y(on_right), p.u_width_mm});
    }
  }

  /// The edge's end is known in depth; beside it, it is the middle of the two borders there.
  void settle_edge() {
    const auto on_left = read_side(left_, 0.25, 1.0), on_right = read_side(right_, 0.25, 1.0);
    if (!on_left || !on_right) return;
    const double y = 0.5 * (on_left->out_mm - 0.25 * on_left->slope) -
                     0.5 * (on_right->out_mm - 0.25 * on_right->slope);
    const double at_edge = (edge_ - axis_.through_mm).dot(axis_.across());
    edge_ += (y - at_edge) * axis_.across();
    edge_.y() = outline_.edge_down_mm;
  }

  const Outline& outline_;
  const SectionAxis& axis_;
  Eigen::Vector2d edge_;
  std::vector<SidePoint> left_, right_, width_;
  double scatter_left_ = 1.0, scatter_right_ = 1.0;
};

/// Root sum of squares of what the warps do to a number.
double spread(const std::vector<Warp>& warps, const std::function<double(const Warp&)>& number) {
  double sum = 0.0;
  const double here = number([](const Eigen::Vector2d& p) { return p; });
  for (const Warp& warp : warps) sum += square(number(warp) - here);
  return std::sqrt(sum);
}

class Metric {
 public:
  Metric(ChoilResult& result, const Outline& outline, const SectionAxis& axis,
         const SectionPlane& plane, const ChoilSettings& settings, const Circumstances& around)
      : result_(result),
        outline_(outline),
        axis_(axis),
        plane_(plane),
        settings_(settings),
        around_(around),
        sections_(outline, axis),
        width_bias_mm_(
            (light_bias::choil::kWidth + light_bias::choil::kClipped * around.clipped_share) /
            outline.px_per_mm),
        middle_bias_mm_(light_bias::choil::kMiddle / outline.px_per_mm),
        fringe_u_mm_(around.fringe_px / std::sqrt(3.0) / outline.px_per_mm) {}

  void measure() {
    fill_axis();
    choose_range();
    for (const double depth : settings_.at_mm) result_.depths.push_back(at_depth(depth));
    fill_outline();
    fill_sides();
    fill_asymmetry();
    fill_edge();
  }

 private:
  void fill_axis() {
    result_.axis_from = axis_.from;
    result_.axis_lean_rad = {axis_.lean_rad, axis_.u_lean_rad};
    if (axis_.stock_mm) {
      const double stock = axis_.stock_mm->value;
      result_.stock_thickness_mm =
          combine(stock, {{"location noise", axis_.stock_mm->u, axis_.stock_mm->dof},
                          {"scale", stock * around_.print_u},
                          {"plane of the heel", stock * kPlaneU_mm / around_.distance_mm},
                          {"light", light_bias::choil::kFlats / outline_.px_per_mm}});
      result_.flats_from_mm = axis_.flats_from_mm - outline_.edge_down_mm;
      result_.flats_to_mm = axis_.flats_to_mm - outline_.edge_down_mm;
    }
    const Eigen::Vector2d edge = sections_.point(edge_y(), 0.0);
    result_.edge_px = plane_.pixel(edge);
    result_.axis_px = (plane_.pixel(edge + axis_.direction()) - result_.edge_px).normalized();
  }

  /// Of every depth: where the edge is.
  double u_depth() const { return std::hypot(outline_.u_edge_down_mm, 0.1 / outline_.px_per_mm); }

  double edge_y() const {
    const auto on_left = read_side(sections_.left(), 0.25, 1.0);
    const auto on_right = read_side(sections_.right(), 0.25, 1.0);
    if (!on_left || !on_right) return 0.0;
    return 0.5 *
           (on_left->out_mm - 0.25 * on_left->slope - on_right->out_mm + 0.25 * on_right->slope);
  }

  /// Down to the bevel's end, where the sides reach the flats, or to where the paper ends.
  void choose_range() {
    constexpr double kMarginMm = 0.5, kNearFlatsPx = 1.2, kLeastRangeMm = 2.0;
    double to = sections_.last_depth(true) - 0.3;
    if (axis_.stock_mm) {
      const double out = axis_.stock_mm->value - kNearFlatsPx / outline_.px_per_mm;
      for (const SidePoint& p : sections_.width()) {
        if (p.depth_mm < 0.5 || p.out_mm < out) continue;
        to = std::min(to, p.depth_mm - kMarginMm);
        break;
      }
      to = std::min(to, end_of_bevel(sections_.left()));
      to = std::min(to, end_of_bevel(sections_.right()));
    }
    constexpr double kLeastMm = 1.5;  // Nearer the edge no bevel ends: stray borders.
    if (to < kLeastMm) to = sections_.last_depth(true) - 0.3;
    if (settings_.angle_to_mm) to = std::min(to, *settings_.angle_to_mm);
    double from = settings_.angle_from_mm;
    if (to - from < kLeastRangeMm) from = std::min(from, 0.2 * to);
    result_.range_from_mm = from;
    result_.range_to_mm = to;
    keep_range_to_what_is_seen();
  }

  /// The longest stretch of it without a gap: a line through what is left of a bent side has not
  /// the angle of the whole. To a tenth of a mm, as it is told.
  void keep_range_to_what_is_seen() {
    constexpr double kGapMm = 1.0, kBandMm = 0.25;
    double from = 0.0, last = 0.0, best_from = 0.0, best_to = 0.0;
    bool any = false;
    for (const SidePoint& p : sections_.width()) {
      if (p.depth_mm < result_.range_from_mm || p.depth_mm > result_.range_to_mm) continue;
      if (!any || p.depth_mm - last > kGapMm) from = p.depth_mm;
      any = true;
      last = p.depth_mm;
      if (last - from > best_to - best_from) best_from = from, best_to = last;
    }
    if (best_to <= best_from) return;
    if (best_from - result_.range_from_mm > kBandMm) result_.range_from_mm = best_from;
    if (result_.range_to_mm - best_to > kBandMm) result_.range_to_mm = best_to;
    result_.range_from_mm = std::ceil(10.0 * result_.range_from_mm - 1e-9) / 10.0;
    result_.range_to_mm = std::floor(10.0 * result_.range_to_mm + 1e-9) / 10.0;
  }

  /// A side has reached its flat when it stands as far out as the flat does.
  double end_of_bevel(const std::vector<SidePoint>& side) const {
    constexpr double kMarginMm = 0.5, kNearPx = 0.6;
    const double out = 0.5 * axis_.stock_mm->value - kNearPx / outline_.px_per_mm;
    int beyond = 0;
    for (const SidePoint& p : side) {
      beyond = p.out_mm > out ? beyond + 1 : 0;
      if (beyond == 3) return p.depth_mm - 2.0 * kMarginMm;
    }
    return 1e9;
  }

  /// Number of a warped pair of points: across the axis, at equal depth.
  double warped_width(const Warp& warp, double left_y, double right_y, double depth,
                      double growth) const {
    const Eigen::Vector2d l = warp(sections_.point(left_y, depth));
    const Eigen::Vector2d r = warp(sections_.point(right_y, depth));
    const Eigen::Vector2d e = warp(sections_.point(edge_y_, 0.0));
    const double deeper = (0.5 * (l + r) - e).dot(axis_.direction()) - depth;
    return (l - r).dot(axis_.across()) - growth * deeper;
  }

  ChoilDepth at_depth(double depth) {
    ChoilDepth out;
    out.depth_mm = depth;
    edge_y_ = edge_y();
    const auto l = read_side(sections_.left(), depth, sections_.scatter_left());
    const auto r = read_side(sections_.right(), depth, sections_.scatter_right());
    const auto w = read_side(sections_.width(), depth,
                             std::max(sections_.scatter_left(), sections_.scatter_right()));
    if (!l || !r || !w || depth <= 0.0) return out;
    out.left_px = plane_.pixel(sections_.point(l->out_mm, depth));
    out.right_px = plane_.pixel(sections_.point(-r->out_mm, depth));
    const double thickness = l->out_mm + r->out_mm;
    const double growth = l->slope + r->slope;
    const auto width = [&](const Warp& warp) {
      return warped_width(warp, l->out_mm, -r->out_mm, depth, growth);
    };
    out.thickness_mm =
        combine(thickness, {{"location noise", w->u_mm},
                            {"scale", around_.print_u * std::hypot(thickness, growth * depth)},
                            {"plane of the heel", std::abs(thickness - growth * depth) *
                                                      kPlaneU_mm / around_.distance_mm},
                            {"pose", spread(around_.pose, width)},
                            {"lens", spread(around_.lens, width)},
                            {"light", width_bias_mm_},
                            {"sides seen past the end", 2.0 * fringe_u_mm_},
                            {"edge's end", std::abs(growth) * u_depth()}});
    const double u_axis =
        std::hypot(axis_.u_place_mm, sections_.from_axis_point(depth) * axis_.u_lean_rad);
    const double u_thickness = out.thickness_mm->u;
    out.half_left_mm = combine(l->out_mm, half_budget(l->u_mm, u_thickness, u_axis));
    out.half_right_mm = combine(r->out_mm, half_budget(r->u_mm, u_thickness, u_axis));
    const double apart = l->out_mm - r->out_mm;
    out.asymmetry_mm = combine(apart, {{"location noise", std::hypot(l->u_mm, r->u_mm)},
                                       {"axis", 2.0 * u_axis},
                                       {"light", 2.0 * middle_bias_mm_},
                                       {"sides seen past the end", 2.0 * u_fringe_middle()},
                                       {"scale", std::abs(apart) * around_.print_u}});
    return out;
  }

  /// Of two borders' middle, where one has more of a fringe than the other.
  double u_fringe_middle() const { return fringe_u_mm_ / std::sqrt(2.0); }

  std::vector<BudgetLine> half_budget(double u_side, double u_thickness, double u_axis) const {
    return {{"location noise", u_side},
            {"thickness", 0.5 * u_thickness},
            {"axis", u_axis},
            {"light", middle_bias_mm_},
            {"sides seen past the end", u_fringe_middle()}};
  }

  void fill_outline() {
    const double last = sections_.last_depth(false);
    for (double depth = 0.1; depth <= last; depth += depth < 2.0 ? 0.1 : 0.5) {
      ChoilDepth at = at_depth(depth);
      if (at.thickness_mm) result_.outline.push_back(std::move(at));
    }
  }

  /// Bands of a faint border share their error, which may turn round along the range.
  double median_u(const std::vector<SidePoint>& points) const {
    std::vector<double> u;
    for (const SidePoint& p : points) {
      if (p.depth_mm >= result_.range_from_mm && p.depth_mm <= result_.range_to_mm) {
        u.push_back(p.u_mm);
      }
    }
    return u.empty() ? 0.0 : median(u);
  }

  /// Of a border against itself, from end to end of the range.
  double drift_mm() const {
    return std::hypot(light_bias::choil::kDrift, around_.fringe_px) / outline_.px_per_mm;
  }
  double u_drift() const { return drift_mm() / (result_.range_to_mm - result_.range_from_mm); }

  /// A heel's end that is not square leans all borders alike, unless the flats lean with them.
  double u_square() const {
    return axis_.from == AxisSource::flats
               ? 0.0
               : kSquareU * std::abs(around_.foot_offset_mm) / around_.distance_mm;
  }

  double warped_angle(const Warp& warp, const SidePoint& from, const SidePoint& to,
                      int side) const {
    const Eigen::Vector2d a = warp(sections_.point(side * from.out_mm, from.depth_mm));
    const Eigen::Vector2d b = warp(sections_.point(side * to.out_mm, to.depth_mm));
    Eigen::Vector2d along(0.0, 1.0);
    if (axis_.from == AxisSource::flats) {
      const Eigen::Vector2d p = axis_.through_mm, q = p - 20.0 * axis_.direction();
      along = (warp(p) - warp(q)).normalized();
    } else {
      along = axis_.direction();
    }
    const Eigen::Vector2d across(along.y(), -along.x());
    return std::atan2(side * (b - a).dot(across), (b - a).dot(along));
  }

  std::vector<BudgetLine> angle_budget(const SideFit& fit, const std::vector<SidePoint>& points,
                                       int side) const {
    const double from = result_.range_from_mm, to = result_.range_to_mm;
    const auto a = read_side(points, from + 0.5, 1.0), b = read_side(points, to - 0.5, 1.0);
    double u_pose = 0.0, u_lens = 0.0;
    if (a && b) {
      const auto angle = [&](const Warp& warp) {
        return warped_angle(warp, {from + 0.5, a->out_mm, 0.0}, {to - 0.5, b->out_mm, 0.0}, side);
      };
      u_pose = spread(around_.pose, angle);
      u_lens = spread(around_.lens, angle);
    }
    return {
        {"location noise", fit.u_angle_rad, fit.dof},
        {"scale", 1.4 * around_.print_u * std::abs(fit.angle_rad)},
        {"pose", u_pose},
        {"lens", u_lens},
        {"light", u_drift()},
        {"faint border", 2.0 * median_u(points) / (result_.range_to_mm - result_.range_from_mm)},
        {"edge's place", u_depth() * std::abs(fit.curvature_per_mm)}};
  }

  void fill_sides() {
    const double from = result_.range_from_mm, to = result_.range_to_mm;
    const auto left = fit_side(sections_.left(), from, to);
    const auto right = fit_side(sections_.right(), from, to);
    std::vector<BudgetLine> included;
    for (const int side : {1, -1}) {
      const std::optional<SideFit>& fit = side > 0 ? left : right;
      if (!fit) continue;
      SectionSide& out = side > 0 ? result_.left : result_.right;
      std::vector<BudgetLine> lines =
          angle_budget(*fit, side > 0 ? sections_.left() : sections_.right(), side);
      if (included.empty()) {
        included = lines;
      } else {
        for (std::size_t i = 0; i < lines.size(); ++i) {
          const bool shared = i > 0;  // the others may be alike: added
          included[i].u =
              shared ? included[i].u + lines[i].u : std::hypot(included[i].u, lines[i].u);
        }
      }
      lines.push_back({"axis", axis_.u_lean_rad});
      lines.push_back({"heel's end not square", u_square()});
      out.angle_rad = combine(fit->angle_rad, std::move(lines));
      fill_shape(out, *fit);
    }
    if (left && right) {
      bend_ = {left->curvature_per_mm + right->curvature_per_mm,
               std::hypot(kEdgeBendU, std::hypot(left->u_curvature, right->u_curvature))};
      result_.included_angle_rad = combine(left->angle_rad + right->angle_rad, std::move(included));
    }
  }

  void fill_shape(SectionSide& side, const SideFit& fit) {
    constexpr double kWorthSayingMm = 0.05;  // A bow that may be larger is not called flat.
    const double to_bow = square(fit.chord_mm) / 8.0;
    side.bow_mm =
        combine(-fit.curvature_per_mm * to_bow,
                {{"location noise", to_bow * fit.u_curvature, fit.dof},
                 {"scale", to_bow * std::abs(fit.curvature_per_mm) *
                               (2.0 * around_.print_u + kPlaneU_mm / around_.distance_mm)},
                 {"light", drift_mm()}});
    const double reach = U95(*side.bow_mm);
    if (std::abs(side.bow_mm->value) <= reach) {
      side.shape = reach <= kWorthSayingMm ? SideShape::flat : SideShape::unresolved;
      return;
    }
    side.shape = side.bow_mm->value > 0.0 ? SideShape::convex : SideShape::hollow;
    if (side.shape == SideShape::convex) return;
    const double curvature = fit.curvature_per_mm;
    const double out = reach / to_bow;
    side.hollow_radius_mm = times(1.0 / to_bow / square(curvature), *side.bow_mm);
    side.hollow_radius_mm->value = 1.0 / curvature;
    side.hollow_radius_low_mm = 1.0 / (curvature + out);
    if (curvature > out) side.hollow_radius_high_mm = 1.0 / (curvature - out);
  }

  void fill_asymmetry() {
    const ChoilDepth* worst = nullptr;
    for (const ChoilDepth& at : result_.outline) {
      if (at.depth_mm < result_.range_from_mm || at.depth_mm > result_.range_to_mm) continue;
      if (!at.asymmetry_mm) continue;
      if (worst == nullptr ||
          std::abs(at.asymmetry_mm->value) > std::abs(worst->asymmetry_mm->value)) {
        worst = &at;
      }
    }
    if (worst == nullptr) return;
    result_.asymmetry_mm = worst->asymmetry_mm;
    result_.asymmetry_depth_mm = worst->depth_mm;
  }

  /// The sides carried on to depth 0; where they would meet before it, to a tenth of a mm.
  void fill_edge() {
    const double scatter = std::max(sections_.scatter_left(), sections_.scatter_right());
    for (const double depth : {0.0, 0.1}) {
      const auto width = carry_to_edge(sections_.width(), depth, bend_, scatter);
      if (!width) return;
      result_.edge_thickness_mm = combine(
          width->out_mm, {{"location noise", width->u_mm},
                          {"scale", around_.print_u * width->out_mm},
                          {"light", width_bias_mm_},
                          {"sides seen past the end", 2.0 * fringe_u_mm_},
                          {"land's corners", light_bias::choil::kCorner / outline_.px_per_mm},
                          {"edge's end", std::abs(width->slope) * u_depth()}});
      result_.edge_depth_mm = depth;
      if (result_.edge_thickness_mm->value >= U95(*result_.edge_thickness_mm)) break;
    }
  }

  ChoilResult& result_;
  const Outline& outline_;
  const SectionAxis& axis_;
  const SectionPlane& plane_;
  const ChoilSettings& settings_;
  const Circumstances& around_;
  Sections sections_;
  double width_bias_mm_, middle_bias_mm_;
  double fringe_u_mm_;  // Of one border, anywhere from 0 to the fringe; of both, alike.
  double edge_y_ = 0.0;
  Bend bend_;  // Of the width.
};

}  // namespace

void measure_section(ChoilResult& result, const Outline& outline, const SectionAxis& axis,
                     const SectionPlane& plane, const ChoilSettings& settings,
                     const Circumstances& around) {
  Metric(result, outline, axis, plane, settings, around).measure();
}

}  // namespace evenbevel::choil
