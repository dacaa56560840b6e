#include "face_reading.hpp"

#include <algorithm>
#include <cmath>

#include "evenbevel/fit.hpp"
#include "refusals.hpp"

namespace evenbevel::side {
namespace {

constexpr double kUsualLandMm = 0.3, kUsualLandUMm = 0.15;  // Common practice, no source.
constexpr int kNeededCorners = 24;
constexpr double kRampMm = 3.5;  // Of a plunge along the edge, when nothing tells.

Eigen::Vector2d turned(const Eigen::Vector2d& v, double by_rad) {
  const double c = std::cos(by_rad), s = std::sin(by_rad);
  return {c * v.x() - s * v.y(), s * v.x() + c * v.y()};
}

/// Robust line through a curve between two x; empty: too little of it, or not straight.
std::optional<LineFit> straight_part(const Curve& curve, double from_mm, double to_mm,
                                     double most_scatter_mm) {
  std::vector<Eigen::Vector2d> points;
  for (std::size_t i = 0; i < curve.z_mm.size(); ++i) {
    const double x = curve.x(i);
    if (x >= from_mm && x <= to_mm && !std::isnan(curve.z_mm[i]))
      points.emplace_back(x, curve.z_mm[i]);
  }
  if (points.size() < 12) return std::nullopt;
  const LineFit line = fit_line_robust(points);
  int beside = 0;
  for (const Eigen::Vector2d& p : points) {
    if (std::abs(line.distance(p)) > 2.5 * most_scatter_mm) ++beside;
  }
  if (line.sigma > most_scatter_mm || beside > 0.2 * static_cast<double>(points.size()))
    return std::nullopt;
  return line;
}

struct Seen {
  FaceImage image;
  Outline outline;
  BevelPath path;
  std::vector<BevelReading> bevel;
  PlungeLine plunge;
  std::optional<PlungeArc> arc;
};

Grid grid_of(const FacePlane& plane, const RoughBlade& blade) {
  constexpr double kEndsMm = 4.0, kSidesMm = 6.0;
  const double scale = plane.px_per_mm({0.5 * blade.length_mm, 0.5 * blade.height_mm});
  Grid grid{-kEndsMm, blade.height_mm + kSidesMm, 1.0 / scale, 0, 0};
  grid.columns = static_cast<int>((blade.length_mm + 2.0 * kEndsMm) * scale);
  grid.rows = static_cast<int>((blade.height_mm + 2.0 * kSidesMm) * scale);
  return grid;
}

Seen see(const cv::Mat& pixels, const FacePlane& plane, const Silhouette& silhouette,
         double blur_px) {
  Seen seen;
  const RoughBlade& blade = silhouette.blade;
  seen.image = face_image(pixels, plane, silhouette.lane, grid_of(plane, blade));
  seen.image.blur_px = blur_px;
  seen.outline = find_outline(seen.image, blade);
  const Cues cues = cues_of(seen.image);
  seen.path = find_bevel_path(seen.image, cues, seen.outline, blade.length_mm);
  seen.plunge = find_plunge(seen.image, cues, seen.outline, seen.path, blade.length_mm);
  double from = 1.5;
  for (const PlungeReading& reading : seen.plunge.readings) {
    if (reading.seen) from = std::max(from, reading.x_mm + 1.5);
  }
  seen.bevel =
      read_bevel_line(seen.image, cues, seen.outline, seen.path, from, blade.length_mm - 1.0);
  if (seen.bevel.empty()) seen.plunge.readings.clear();  // It ends in the bevel line.
  seen.arc = find_plunge_arc(seen.image, seen.plunge, seen.bevel);
  leave_out_plunge_arc(seen.bevel);
  return seen;
}

double clipped_share(const Seen& seen) {
  constexpr float kClip = 0.975F;
  int all = 0, clipped = 0;
  for (std::size_t i = 0; i < seen.outline.edge.z_mm.size(); i += 2) {
    const double x = seen.outline.edge.x(i);
    const double low = seen.outline.edge.z_mm[i], high = seen.outline.spine.at(x);
    const int column = static_cast<int>(seen.image.column(x));
    if (std::isnan(low) || std::isnan(high) || column < 0 || column >= seen.image.code.cols)
      continue;
    for (int row = static_cast<int>(seen.image.row(high)) + 4;
         row < static_cast<int>(seen.image.row(low)) - 4; row += 4) {
      ++all;
      if (seen.image.code.at<float>(row, column) > kClip) ++clipped;
    }
  }
  return all == 0 ? 0.0 : static_cast<double>(clipped) / all;
}

/// Heights over the card of what the camera sees of the edge and of the spine: from over the blade
/// the upper corners, from beside it the lower ones.
void set_heights(FaceReading& reading, const SideSettings& settings, const Seen& seen) {
  const double thickness = settings.thickness_mm;
  const double land = settings.land_mm.value_or(kUsualLandMm);
  const double aside =
      settings.centreline_offset_mm.value_or(0.0) * (reading.face == Face::left ? 1.0 : -1.0);
  double edge_z = 0.0;
  int count = 0;
  for (const double z : seen.outline.edge.z_mm) {
    if (!std::isnan(z) && count++ < 100) edge_z += z;
  }
  edge_z /= std::max(1, std::min(count, 100));
  const bool above = reading.plane.eye().y() > edge_z;
  reading.edge_on_flat_mm = above ? thickness : 0.0;
  reading.edge_on_bevel_mm = 0.5 * thickness + aside + (above ? 0.5 : -0.5) * land;
  reading.edge_height_u_mm = std::hypot(settings.land_mm ? 0.02 : 0.5 * kUsualLandUMm, 0.03);
}

void set_ramp(FaceReading& reading, const Seen& seen) {
  if (seen.plunge.readings.empty()) return;
  std::vector<Eigen::Vector2d> low;
  for (const PlungeReading& row : seen.plunge.readings) {
    if (row.seen && low.size() < 8) low.emplace_back(row.z_mm, row.x_mm);
  }
  if (low.size() < 4) return;
  reading.ramp_from_mm = low.front().y();
  reading.ramp_to_mm = reading.ramp_from_mm + kRampMm;
}

std::vector<Eigen::Vector2d> at_heights(const FaceReading& reading, const Curve& curve,
                                        bool spine) {
  std::vector<Eigen::Vector2d> points;
  for (std::size_t i = 0; i < curve.z_mm.size(); ++i) {
    if (std::isnan(curve.z_mm[i])) continue;
    const double x = curve.x(i);
    const double height = spine ? reading.spine_height(x) : reading.edge_height(x);
    points.push_back(reading.plane.moved_to(height, {x, curve.z_mm[i]}));
  }
  return points;
}

/// x along the spine's straight part, or the edge's; z = 0 on the edge at the handle.
BladeAxes axes_of(const Curve& edge, const Curve& spine, double length_mm,
                  std::optional<double> plunge_mm) {
  constexpr double kStraightMm = 0.12;
  const double to = plunge_mm ? std::max(*plunge_mm + 5.0, 15.0) : 0.35 * length_mm;
  const std::optional<LineFit> low = straight_part(edge, 1.5, to, kStraightMm);
  std::optional<LineFit> line = straight_part(spine, 1.5, 0.6 * length_mm, kStraightMm);
  if (!line) line = low;
  BladeAxes axes;
  if (line) axes.turn_rad = line->direction_rad;
  const double foot_x = plunge_mm.value_or(0.25 * length_mm);
  double foot_z = edge.at(foot_x);
  if (low) foot_z = low->centre.y() + std::tan(low->direction_rad) * (foot_x - low->centre.x());
  // x = 0 stays at the handle's end: the foot of (0, .) on the line z = 0.
  const Eigen::Vector2d foot(foot_x, std::isnan(foot_z) ? 0.0 : foot_z);
  axes.origin_mm = foot - turned({foot_x, 0.0}, axes.turn_rad);
  return axes;
}

template <class Reading>
void turn_readings(const BladeAxes& axes, std::vector<Reading>& readings) {
  for (Reading& reading : readings) {
    const Eigen::Vector2d p = axes.blade({reading.x_mm, reading.z_mm});
    reading.x_mm = p.x(), reading.z_mm = p.y();
  }
}

std::optional<double> height_at_plunge(const FaceReading& reading) {
  std::vector<double> heights;
  for (const BevelReading& place : reading.bevel) {
    const double edge = reading.edge.at(place.x_mm);
    if (!place.seen || std::isnan(edge)) continue;
    heights.push_back(place.z_mm - edge);
    if (heights.size() == 12) break;
  }
  if (heights.size() < 4) return std::nullopt;
  return median(heights);
}

std::optional<double> plunge_foot(const std::vector<PlungeReading>& plunge) {
  for (const PlungeReading& row : plunge) {
    if (row.seen) return row.x_mm;
  }
  return std::nullopt;
}

void to_blade_axes(FaceReading& reading, Seen& seen) {
  std::vector<Eigen::Vector2d> edge = at_heights(reading, seen.outline.edge, false);
  std::vector<Eigen::Vector2d> spine = at_heights(reading, seen.outline.spine, true);
  reading.axes = axes_of(resampled(edge), resampled(spine), reading.length_mm,
                         plunge_foot(seen.plunge.readings));
  const auto turn = [&](std::vector<Eigen::Vector2d>& points) {
    for (Eigen::Vector2d& p : points) p = reading.axes.blade(p);
  };
  turn(edge), turn(spine);
  reading.edge = resampled(edge), reading.spine = resampled(spine);
  reading.heel = seen.outline.heel;
  for (Eigen::Vector2d& p : reading.heel) {
    if (reading.plane.eye().x() < p.x()) p = reading.plane.moved_to(0.0, p);
  }
  turn(reading.heel);
  if (seen.outline.tip) {
    reading.tip = reading.axes.blade(reading.plane.moved_to(
        0.5 * reading.plane.upper(seen.outline.tip->x()), *seen.outline.tip));
  }
  turn_readings(reading.axes, seen.bevel);
  turn_readings(reading.axes, seen.plunge.readings);
  reading.bevel = std::move(seen.bevel), reading.plunge = std::move(seen.plunge.readings);
  reading.crease = seen.plunge.straight;
  if (reading.crease) {
    const StraightCrease& c = *seen.plunge.straight;
    const Eigen::Vector2d p = reading.axes.blade({c.x_mm, c.z_mm});
    reading.crease =
        StraightCrease{p.x(), p.y(), c.lean_rad + reading.axes.turn_rad, c.u_x_mm, c.u_lean_rad};
  }
  reading.arc = seen.arc;
}

double coverage_of(const std::vector<BevelReading>& readings) {
  if (readings.empty()) return 0.0;
  const auto seen =
      std::count_if(readings.begin(), readings.end(), [](const BevelReading& r) { return r.seen; });
  return static_cast<double>(seen) / static_cast<double>(readings.size());
}

}  // namespace

Eigen::Vector2d BladeAxes::blade(const Eigen::Vector2d& on_plane_mm) const {
  return turned(on_plane_mm - origin_mm, -turn_rad);
}

Eigen::Vector2d BladeAxes::plane(const Eigen::Vector2d& in_blade_mm) const {
  return origin_mm + turned(in_blade_mm, turn_rad);
}

BladeAxes BladeAxes::moved(double by_rad, const Eigen::Vector2d& shift_mm) const {
  // New coordinates p' = R(by) p + shift, so p = R(-by) (p' - shift).
  BladeAxes other;
  other.turn_rad = turn_rad - by_rad;
  other.origin_mm = plane(turned(-shift_mm, -by_rad));
  return other;
}

double FaceReading::upper(double x_mm) const { return plane.upper(x_mm); }

double FaceReading::edge_height(double x_mm) const {
  const double share =
      ramp_to_mm < -1e8 ? 1.0
                        : std::clamp((x_mm - ramp_from_mm) / (ramp_to_mm - ramp_from_mm), 0.0, 1.0);
  const double taper = plane.upper(x_mm) / plane.upper(0.0);
  return taper * ((1.0 - share) * edge_on_flat_mm + share * edge_on_bevel_mm);
}

double FaceReading::spine_height(double x_mm) const {
  // Decided at the spine's place by the camera's own: over the blade it sees the upper corner.
  return plane.eye().y() > look_spine_z_mm ? 0.0 : plane.upper(x_mm);
}

Eigen::Vector2d FaceReading::pixel(const Eigen::Vector2d& in_blade_mm, double height_mm) const {
  return plane.pixel(axes.plane(in_blade_mm), height_mm);
}

std::optional<Face> face_in(const Photo& photo, const CameraModel& file,
                            const SideSettings& settings) {
  if (!file.guessed) require_same_camera(file, photo);
  const FoundCard card = require_card(grey8(photo.pixels), CardKind::side, kNeededCorners);
  const auto [camera, pose] = see_card(card, file, settings.print);
  return face_of(
      find_silhouette(photo.pixels, camera, pose.T_camera_card, settings.thickness_mm).blade);
}

FaceReading read_face(const FacePhoto& photo, const SideSettings& settings) {
  const cv::Mat& pixels = photo.photo->pixels;
  if (!photo.camera->guessed) require_same_camera(*photo.camera, *photo.photo);
  const FoundCard card = require_card(grey8(pixels), CardKind::side, kNeededCorners);
  const auto [camera, pose] = see_card(card, *photo.camera, settings.print);
  const Silhouette silhouette =
      find_silhouette(pixels, camera, pose.T_camera_card, settings.thickness_mm);
  const RoughBlade blade = facing(silhouette.blade, photo.face);
  FacePlane plane(camera, pose.T_camera_card, blade.handle_mm, blade.along, blade.up,
                  settings.thickness_mm);
  if (settings.tip_thickness_mm)
    plane.lean(settings.thickness_mm - *settings.tip_thickness_mm, blade.length_mm);
  Seen seen = see(pixels, plane, {silhouette.lane, blade}, card.softness_px);
  FaceReading reading(photo.face, plane);
  reading.length_mm = blade.length_mm;
  reading.handle_seen = blade.handle_seen;
  reading.look_spine_z_mm = blade.height_mm;
  reading.outline_u_mm = seen.outline.scatter_mm;
  reading.look.face = photo.face;
  reading.look.pose = pose;
  reading.look.corners_found = static_cast<int>(card.corners.size());
  reading.look.scale_px_per_mm = 1.0 / seen.image.step_mm;
  reading.look.blur_px = card.softness_px;
  reading.look.camera_distance_mm = plane.eye().z();
  reading.look.clipped_share = clipped_share(seen);
  set_heights(reading, settings, seen);
  set_ramp(reading, seen);
  to_blade_axes(reading, seen);
  reading.look.bevel_coverage = coverage_of(reading.bevel);
  reading.bevel_height_mm = height_at_plunge(reading);
  return reading;
}

}  // namespace evenbevel::side
