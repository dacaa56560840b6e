#include "read_face.hpp"

#include <algorithm>
#include <cmath>
#include <future>
#include <string>

#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "refusals.hpp"
#include "side_view/registration.hpp"

namespace evenbevel::finish {
namespace {

constexpr int kNeededCorners = 24;
/// Stock that nobody told the thickness of: from thin to stout. Common practice, no source.
constexpr double kUsualStockMm = 3.5, kUsualStockUMm = 1.0;

SideSettings side_settings(const FinishSettings& settings) {
  SideSettings side;
  side.thickness_mm = settings.thickness_mm.value_or(kUsualStockMm);
  side.thickness_u_mm = settings.thickness_mm ? settings.thickness_u_mm : kUsualStockUMm;
  side.tip_thickness_mm = settings.tip_thickness_mm;
  side.print = settings.print;
  return side;
}

struct Attempt {
  std::optional<side::FaceReading> reading;
  std::optional<Error> refused;
};

Error named(const FinishPhoto& photo, const Error& e) {
  return {photo.photo->name + " (" + std::string(name(photo.face)) + " face): " + e.what_is_wrong(),
          e.what_to_do()};
}

Attempt attempt(const FinishPhoto& photo, const SideSettings& settings) {
  try {
    return {side::read_face({photo.face, photo.photo, photo.camera}, settings), {}};
  } catch (const Error& e) {
    return {{}, named(photo, e)};
  }
}

/// Two at a time: memory and cores are few.
std::vector<Attempt> attempts(std::span<const FinishPhoto> photos, const SideSettings& settings) {
  std::vector<Attempt> all;
  for (std::size_t i = 0; i < photos.size(); i += 2) {
    std::future<Attempt> other;
    if (i + 1 < photos.size()) {
      other = std::async(std::launch::async, [&, i] { return attempt(photos[i + 1], settings); });
    }
    all.push_back(attempt(photos[i], settings));
    if (other.valid()) all.push_back(other.get());
  }
  return all;
}

/// How well a photo shows how the blade lies; a plunge line gives x.
double worth(const side::FaceReading& reading) {
  return reading.look.bevel_coverage + (reading.plunge.empty() ? 0.0 : 2.0) +
         (reading.tip ? 4.0 : 0.0);
}

SeenPhoto seen(const FinishPhoto& photo, const Attempt& attempt, const FinishSettings& settings,
               const side::FacePlane& of_blade) {
  if (attempt.reading) {
    const side::FaceReading& own = *attempt.reading;
    return {photo.photo,      own.plane.camera(),
            own.look.pose,    own.look.corners_found,
            own.look.blur_px, of_blade.with(own.plane.camera(), own.look.pose.T_camera_card)};
  }
  try {
    const FoundCard card = require_card(grey8(photo.photo->pixels), CardKind::side, kNeededCorners);
    const auto [camera, pose] = see_card(card, *photo.camera, settings.print);
    return {photo.photo,
            camera,
            pose,
            static_cast<int>(card.corners.size()),
            card.softness_px,
            of_blade.with(camera, pose.T_camera_card)};
  } catch (const Error& e) {
    throw named(photo, e);
  }
}

/// Gaps up to 8 mm bridged by straight lines: raking light leaves stretches of an outline dark.
side::Curve bridged(side::Curve curve) {
  constexpr std::size_t kMostGap = 16;
  std::vector<double>& z = curve.z_mm;
  for (std::size_t i = 1; i < z.size(); ++i) {
    if (!std::isnan(z[i]) || std::isnan(z[i - 1])) continue;
    std::size_t next = i;
    while (next < z.size() && std::isnan(z[next])) ++next;
    if (next == z.size() || next - i > kMostGap) continue;
    const double first = z[i - 1], last = z[next];
    for (std::size_t k = i; k < next; ++k) {
      z[k] = first +
             (last - first) * static_cast<double>(k - i + 1) / static_cast<double>(next - i + 1);
    }
  }
  return curve;
}

side::Curve bevel_curve(const side::FaceReading& reading) {
  std::vector<Eigen::Vector2d> points;
  for (const side::BevelReading& place : reading.bevel) {
    if (place.seen) points.emplace_back(place.x_mm, place.z_mm);
  }
  if (points.size() < 2) return {};
  return bridged(side::resampled(points));
}

std::vector<Eigen::Vector2d> plunge_points(const side::FaceReading& reading) {
  std::vector<Eigen::Vector2d> points;
  for (const side::PlungeReading& row : reading.plunge) {
    if (row.seen) points.emplace_back(row.x_mm, row.z_mm);
  }
  return points;
}

/// Where the plunge line runs, in one number.
std::optional<double> plunge_x(const side::FaceReading& reading) {
  std::vector<double> x;
  for (const Eigen::Vector2d& p : plunge_points(reading)) x.push_back(p.x());
  return x.empty() ? std::nullopt : std::optional(median(x));
}

/// One low lamp makes a plunge line of a shade or a scratch: most photos must show it there.
bool plunge_borne_out(const side::FaceReading& reading, const std::vector<Attempt>& all) {
  constexpr double kAlikeMm = 1.0;
  const std::optional<double> x = plunge_x(reading);
  std::size_t alike = 0;
  for (const Attempt& one : all) {
    const std::optional<double> other = one.reading ? plunge_x(*one.reading) : std::nullopt;
    alike += x && other && std::abs(*other - *x) < kAlikeMm ? 1 : 0;
  }
  return alike > 1 && 2 * alike > all.size();
}

/// Places of `other`'s edge against the face's, in the one frame; median over the blade.
std::optional<double> moved_mm(const LyingFace& face, const side::FaceReading& other,
                               const SeenPhoto& photo) {
  std::vector<double> off;
  for (std::size_t i = 0; i < other.edge.z_mm.size(); i += 4) {
    const double x = other.edge.x(i);
    if (std::isnan(other.edge.z_mm[i])) continue;
    const double height = other.edge_height(x);
    const Eigen::Vector2d q_px = other.pixel({x, other.edge.z_mm[i]}, height);
    const Eigen::Vector2d on_plane = photo.plane.moved_to(height, photo.plane.at_pixel(q_px));
    const Eigen::Vector2d p = face.reading.axes.blade(on_plane);
    const double z = face.edge.at(p.x());
    if (!std::isnan(z)) off.push_back(std::abs(p.y() - z));
  }
  if (off.size() < 10) return std::nullopt;
  return median(off);
}

/// Slope and last point of a curve's end, from a line through the last 10 mm of it.
struct CurveEnd {
  Eigen::Vector2d at;
  double slope = 0.0;
};

std::optional<CurveEnd> end_of(const std::vector<Eigen::Vector2d>& points, bool first) {
  constexpr double kFitMm = 10.0;
  if (points.size() < 5) return std::nullopt;
  const Eigen::Vector2d at = first ? points.front() : points.back();
  std::vector<Eigen::Vector2d> near;
  for (const Eigen::Vector2d& p : points) {
    if (std::abs(p.x() - at.x()) < kFitMm) near.push_back(p);
  }
  if (near.size() < 5) return std::nullopt;
  return CurveEnd{at, std::tan(fit_line_robust(near).direction_rad)};
}

/// Where a bevel line runs that glints but was not followed: on to the tip, bending upward as its
/// end begins to, and back along the blade until it turns into the plunge line.
std::vector<Eigen::Vector2d> bevel_beyond(const LyingFace& face) {
  constexpr double kBackMm = 40.0;  // Straight up to there, as far as a plunge line lies off.
  std::vector<Eigen::Vector2d> seen, beyond;
  for (std::size_t i = 0; i < face.bevel.z_mm.size(); ++i) {
    if (!std::isnan(face.bevel.z_mm[i])) seen.emplace_back(face.bevel.x(i), face.bevel.z_mm[i]);
  }
  const std::optional<CurveEnd> low = end_of(seen, true), high = end_of(seen, false);
  if (!low || !high) return {};
  for (double back = kBackMm; back > 0.0; back -= side::Curve::kStepMm) {
    beyond.emplace_back(low->at.x() - back, low->at.y() - back * low->slope);
  }
  if (!face.reading.tip || face.reading.tip->x() <= high->at.x()) return beyond;
  const Eigen::Vector2d tip = *face.reading.tip;
  const double run = tip.x() - high->at.x();
  const Eigen::Vector2d bend = high->at + 0.5 * run * Eigen::Vector2d(1.0, high->slope);
  const int steps = std::max(2, static_cast<int>(run / side::Curve::kStepMm));
  for (int k = 1; k <= steps; ++k) {
    const double t = static_cast<double>(k) / steps;
    beyond.emplace_back((1 - t) * (1 - t) * high->at + 2 * t * (1 - t) * bend + t * t * tip);
  }
  return beyond;
}

/// x = 0 at the handle's end as its border is seen; the silhouette ends within half a millimetre of
/// it only.
side::FaceReading from_handle_end(const side::FaceReading& reading) {
  constexpr std::size_t kEnough = 12;  // Places half a millimetre apart.
  if (reading.heel.size() < kEnough) return reading;
  std::vector<double> x_mm;
  for (const Eigen::Vector2d& p : reading.heel) x_mm.push_back(p.x());
  const double end_mm = median(x_mm);
  side::FaceReading moved = side::in_frame(reading, 0.0, {-end_mm, 0.0});
  moved.ramp_from_mm -= end_mm, moved.ramp_to_mm -= end_mm;
  return moved;
}

}  // namespace

bool LyingFace::on_bevel(const Eigen::Vector2d& p) const {
  const double line = bevel.z_mm.empty() ? std::nan("") : bevel.at(p.x());
  if (std::isnan(line) || p.y() >= line) return false;
  if (plunge_mm.empty()) return true;
  const auto above =
      std::lower_bound(plunge_mm.begin(), plunge_mm.end(), p.y(),
                       [](const Eigen::Vector2d& row, double z) { return row.y() < z; });
  return p.x() > (above == plunge_mm.end() ? plunge_mm.back() : *above).x();
}

double LyingFace::height(const Eigen::Vector2d& p) const {
  const double upper = reading.upper(p.x());
  if (!on_bevel(p)) return upper;
  const double line = bevel.at(p.x()), low = edge.at(p.x());
  if (std::isnan(low) || line - low < 1.0) return upper;
  const double share = std::clamp((line - p.y()) / (line - low), 0.0, 1.0);
  return upper + share * (reading.edge_height(p.x()) - upper);
}

Eigen::Vector2d LyingFace::pixel(const Eigen::Vector2d& p, std::size_t photo) const {
  return photos[photo].plane.pixel(reading.axes.plane(p), height(p));
}

LyingFace read_lying_face(std::span<const FinishPhoto> photos, const FinishSettings& settings) {
  const SideSettings side = side_settings(settings);
  std::vector<Attempt> all = attempts(photos, side);
  std::size_t best = 0;
  for (std::size_t i = 1; i < all.size(); ++i) {
    if (!all[i].reading) continue;
    if (!all[best].reading || worth(*all[i].reading) > worth(*all[best].reading)) best = i;
  }
  if (!all[best].reading) throw *all[best].refused;
  LyingFace face{.reading = from_handle_end(*all[best].reading)};
  face.edge = bridged(face.reading.edge), face.spine = bridged(face.reading.spine);
  face.bevel = bevel_curve(face.reading);
  if (plunge_borne_out(*all[best].reading, all)) face.plunge_mm = plunge_points(face.reading);
  face.glints_mm = bevel_beyond(face);
  // One photo alone cannot bear its plunge line out; if it is one, it glints.
  if (photos.size() == 1) face.plunge_glints_mm = plunge_points(face.reading);
  for (std::size_t i = 0; i < photos.size(); ++i) {
    face.photos.push_back(seen(photos[i], all[i], settings, face.reading.plane));
    if (i == best || !all[i].reading) continue;
    const std::optional<double> moved = moved_mm(face, *all[i].reading, face.photos.back());
    if (moved) require_still(*moved, *photos[best].photo, *photos[i].photo);
  }
  // Half the blade's length from the card's middle, and as far off it as the height is not known.
  constexpr double kReachMm = 60.0;
  const double scale_u = side.thickness_u_mm / face.reading.look.camera_distance_mm;
  face.u_place_mm =
      std::hypot(kReachMm * std::hypot(scale_u, settings.print.u), face.reading.outline_u_mm);
  return face;
}

}  // namespace evenbevel::finish
