#include "face_numbers.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "border/light_bias.hpp"
#include "evenbevel/error.hpp"
#include "uncertainty/neighbours.hpp"

namespace evenbevel::side {
namespace {

constexpr double kLens = 3e-4, kGuessedLens = 5e-3;
constexpr double kFlatnessMm = 0.1;       // Of card and blade on it.
constexpr double kOutlineSmoothMm = 1.5;  // Of the outline, a side.
constexpr double kBesideMm = 1.3;         // A bevel reading this near carries a station.
constexpr double kShortestWaveMm = 6.0;
constexpr double kMostUMm = 0.2;  // A station with more is not covered.

std::optional<double> smoothed_at(const Curve& curve, double x_mm) {
  double n = 0.0, sum = 0.0, sum_d = 0.0, sum_dd = 0.0, sum_dz = 0.0;
  for (double d = -kOutlineSmoothMm; d <= kOutlineSmoothMm; d += Curve::kStepMm) {
    const double z = curve.at(x_mm + d);
    if (std::isnan(z)) continue;
    n += 1.0, sum += z, sum_d += d, sum_dd += d * d, sum_dz += d * z;
  }
  const double spread = n * sum_dd - sum_d * sum_d;
  if (n < 4.0 || spread < 1e-9) return std::nullopt;
  const double slope = (n * sum_dz - sum_d * sum) / spread;
  const double middle = sum_d / n;
  if (std::abs(middle) > 0.7) return std::nullopt;  // readings on one side only
  return sum / n - slope * middle;
}

}  // namespace

Terms terms_of(const FaceReading& reading, const SideSettings& settings) {
  const double px_mm = 1.0 / reading.look.scale_px_per_mm;
  const bool guessed = reading.plane.camera().guessed;
  const Eigen::Vector3d& eye = reading.plane.eye();
  const double aside = std::abs(eye.y()) / eye.z();  // The edge lies near z = 0.
  const double bend = std::max(reading.look.pose.bend_mm, 2.0 * reading.look.pose.bend_u_mm);
  Terms terms;
  const double soft = std::max(1.0, reading.look.blur_px / light_bias::side::kUsualBlur);
  terms.border_mm = light_bias::side::kBevelLine * px_mm * soft;
  terms.edge_mm = light_bias::side::kOutline * px_mm * soft;
  terms.scale = settings.print.u;
  terms.lens =
      std::hypot(guessed ? kGuessedLens : kLens, std::hypot(kFlatnessMm, 0.5 * bend) / eye.z());
  const double tilt_u = guessed ? 0.015 : 0.003;
  terms.parallax_mm =
      std::hypot(reading.edge_height_u_mm * aside, 0.5 * settings.thickness_mm * tilt_u);
  return terms;
}

FaceNumbers::FaceNumbers(const FaceReading& reading, const SideSettings& settings)
    : reading_(&reading), settings_(&settings), terms_(terms_of(reading, settings)) {
  std::vector<double> x, z, u;
  for (const BevelReading& place : reading.bevel) {
    if (!place.seen) continue;
    if (!x.empty() && place.x_mm <= x.back()) continue;
    x.push_back(place.x_mm), z.push_back(place.z_mm), u.push_back(place.u_mm);
  }
  // The readings are one continuous path: none of them stands alone. Left out together, those of
  // the tip, where the path bends, would leave a straight line in their place.
  constexpr double kNone = std::numeric_limits<double>::infinity();
  constexpr std::size_t kLeast = 8;
  if (x.size() >= kLeast) {
    try {
      bevel_ = smooth_curve(x, z, u, {.reject_beyond = kNone, .shortest_wave = kShortestWaveMm});
    } catch (const Error&) {
      bevel_.reset();
    }
  }
  plunge_ = fit_plunge(reading);
}

std::optional<double> FaceNumbers::depth_mm() const {
  if (!settings_->land_mm) return std::nullopt;
  const double aside =
      settings_->centreline_offset_mm.value_or(0.0) * (reading_->face == Face::left ? 1.0 : -1.0);
  return 0.5 * settings_->thickness_mm - 0.5 * *settings_->land_mm - aside;
}

FaceNumbers::At FaceNumbers::at(double x_mm) const {
  At here;
  here.edge_mm = smoothed_at(reading_->edge, x_mm);
  here.spine_mm = smoothed_at(reading_->spine, x_mm);
  here.outline_u_mm = reading_->outline_u_mm;
  if (!bevel_) return here;
  const bool near = std::any_of(
      reading_->bevel.begin(), reading_->bevel.end(),
      [&](const BevelReading& r) { return r.seen && std::abs(r.x_mm - x_mm) <= kBesideMm; });
  if (!near) return here;
  const SmoothCurve::Reading value = bevel_->at(x_mm);
  if (value.u > kMostUMm) return here;
  here.bevel_mm = value.value;
  here.bevel_u_mm = value.u;
  here.bevel_dof = std::max(1.0, bevel_->dof());
  const double edge_slope = reading_->edge.slope(x_mm, 2.0);
  here.slope_difference = std::isnan(edge_slope) ? 0.0 : value.slope - edge_slope;
  return here;
}

std::optional<Measured> FaceNumbers::bevel_height(double x_mm) const {
  const At here = at(x_mm);
  if (!here.edge_mm || !here.bevel_mm) return std::nullopt;
  const double height = *here.bevel_mm - *here.edge_mm;
  if (height <= 0.0) return std::nullopt;
  return combine(
      height, {{"bevel line, scatter", here.bevel_u_mm, here.bevel_dof, kBevelSharedMm},
               {"bevel line, light and blur", terms_.border_mm},
               {.cause = "outline, scatter", .u = here.outline_u_mm, .shared_mm = kBevelSharedMm},
               {"outline, light and blur", terms_.edge_mm},
               {kPrintScale, terms_.scale * height},
               {"lens, pose and flatness", terms_.lens * height},
               {"height of the edge over the card", terms_.parallax_mm}});
}

std::optional<Measured> FaceNumbers::spine_to_bevel(double x_mm) const {
  const At here = at(x_mm);
  if (!here.spine_mm || !here.bevel_mm) return std::nullopt;
  const double height = *here.spine_mm - *here.bevel_mm;
  return combine(
      height, {{"bevel line, scatter", here.bevel_u_mm, here.bevel_dof, kBevelSharedMm},
               {"bevel line, light and blur", terms_.border_mm},
               {.cause = "outline, scatter", .u = here.outline_u_mm, .shared_mm = kBevelSharedMm},
               {"outline, light and blur", terms_.edge_mm},
               {kPrintScale, terms_.scale * height},
               {"lens, pose and flatness", terms_.lens * height}});
}

std::optional<Measured> FaceNumbers::blade_height(double x_mm) const {
  const At here = at(x_mm);
  if (!here.spine_mm || !here.edge_mm) return std::nullopt;
  const double height = *here.spine_mm - *here.edge_mm;
  return combine(height, {{.cause = "outline, scatter",
                           .u = std::sqrt(2.0) * here.outline_u_mm,
                           .shared_mm = kBevelSharedMm},
                          {"outline, light and blur", std::sqrt(2.0) * terms_.edge_mm},
                          {kPrintScale, terms_.scale * height},
                          {"lens, pose and flatness", terms_.lens * height},
                          {"height of the edge over the card", terms_.parallax_mm}});
}

std::optional<Measured> FaceNumbers::bevel_angle(double x_mm) const {
  const std::optional<Measured> height = bevel_height(x_mm);
  std::optional<double> depth = depth_mm();
  if (!height || !depth) return std::nullopt;
  // The stock there: distal taper takes half of its thinning off each face's depth.
  const double plane_x = reading_->axes.plane({x_mm, 0.0}).x();
  *depth -= 0.5 * (settings_->thickness_mm - reading_->upper(plane_x));
  if (*depth <= 0.0) return std::nullopt;
  constexpr double kLandU = 0.02, kOffsetU = 0.02;
  const double h = height->value, square = h * h + *depth * *depth;
  const double u_height = height->u;
  const double by_depth = h / square;
  const bool offset_known = settings_->centreline_offset_mm.has_value();
  return combine(std::atan2(*depth, h),
                 {{"bevel height", *depth / square * u_height},
                  {"thickness", by_depth * 0.5 * settings_->thickness_u_mm},
                  {"land", by_depth * 0.5 * kLandU},
                  {"centreline offset", by_depth * (offset_known ? kOffsetU : 0.05)}});
}

std::optional<Measured> FaceNumbers::straightness() const {
  constexpr double kStraightMm = 0.25, kLeastMm = 15.0;
  if (!bevel_) return std::nullopt;
  // From the plunge on, as long as the curve stays near one line.
  std::vector<Eigen::Vector2d> points;
  double worst_u = 0.0;
  for (double x = first_mm(); x <= last_mm(); x += 1.0) {
    const At here = at(x);
    if (!here.bevel_mm) continue;
    points.emplace_back(x, *here.bevel_mm);
    if (points.size() < 12) continue;
    const LineFit line = fit_line_robust(points);
    if (std::abs(line.distance(points.back())) > kStraightMm && points.size() > 20) {
      points.resize(points.size() - 3);
      break;
    }
  }
  if (points.size() < 12 || points.back().x() - points.front().x() < kLeastMm) return std::nullopt;
  // The narrowest zone: try directions about the fitted one.
  const LineFit line = fit_line(points);
  double narrowest = 1e9;
  for (int i = -200; i <= 200; ++i) {
    const double turn = line.direction_rad + i * 2e-5;
    const Eigen::Vector2d normal(-std::sin(turn), std::cos(turn));
    double low = 1e9, high = -1e9;
    for (const Eigen::Vector2d& p : points) {
      low = std::min(low, normal.dot(p)), high = std::max(high, normal.dot(p));
    }
    narrowest = std::min(narrowest, high - low);
  }
  for (const Eigen::Vector2d& p : points) worst_u = std::max(worst_u, at(p.x()).bevel_u_mm);
  return combine(narrowest, {{"bevel line, scatter", std::sqrt(2.0) * worst_u},
                             {"bevel line, light and blur", terms_.border_mm}});
}

double FaceNumbers::first_mm() const {
  return reading_->edge.z_mm.empty() ? 0.0 : reading_->edge.first_mm;
}

double FaceNumbers::last_mm() const {
  const Curve& edge = reading_->edge;
  return edge.z_mm.empty() ? 0.0 : edge.x(edge.z_mm.size() - 1);
}

}  // namespace evenbevel::side
