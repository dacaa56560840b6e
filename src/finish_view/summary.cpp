#include "summary.hpp"

#include <algorithm>
#include <cmath>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel::finish {
namespace {

/// A face on which a scratch as bright as twice its surroundings would have to be wider than this
/// was not judged: it is the width of the grooves that 60 grit leaves (common practice, no source).
constexpr double kWidestMissedMm = 0.1;

struct Judged {
  cv::Mat mask;  ///< CV_8UC1.
  std::optional<double> smallest_mm;
};

Judged judged_part(const FlatFace& flat, const LineBank& bank) {
  double blur = 0.0;
  for (const FlatPhoto& photo : flat.photos) blur = std::max(blur, photo.blur_px);
  const double width_a_spread = kBegins / answer_to_line(1.0, blur) * flat.grid.step_mm;
  cv::Mat width, whole;
  cv::Mat(bank.spread * width_a_spread).convertTo(width, CV_32F);
  cv::resize(width, whole, width.size() * kCellPx, 0, 0, cv::INTER_NEAREST);
  const cv::Mat at = whole(cv::Rect({}, flat.surface.size()));
  Judged judged;
  judged.mask = (flat.surface > 0) & (at > 0.0F) & (at < kWidestMissedMm);
  std::vector<double> widths;
  for (int row = 0; row < width.rows; ++row) {
    for (int column = 0; column < width.cols; ++column) {
      const float value = width.at<float>(row, column);
      if (value > 0.0F) widths.push_back(value);
    }
  }
  // Narrower ones were never tried (bench_finish_scenes draws from 0.2 px on).
  constexpr double kTriedPx = 0.2;
  if (!widths.empty()) {
    judged.smallest_mm = std::max(median(widths), kTriedPx * flat.grid.step_mm);
  }
  return judged;
}

std::string zone_at(const std::vector<FinishZone>& zones, const LyingFace& lying,
                    const Eigen::Vector2d& p) {
  const bool bevel = lying.on_bevel(p);
  for (const FinishZone& zone : zones) {
    const bool of_bevel = zone.name != "flat" && zone.name != "ricasso";
    const bool here = p.x() >= zone.from_x_mm && p.x() < zone.to_x_mm;
    if (here && (!lying.parted() || bevel == of_bevel)) return zone.name;
  }
  return "";
}

/// Named stretches, from the handle to the tip.
std::vector<FinishZone> zones_of(const LyingFace& lying, const FlatGrid& grid) {
  constexpr double kAtPlungeMm = 12.0, kAtTipMm = 25.0;
  const double first = grid.left_mm, last = grid.left_mm + grid.columns * grid.step_mm;
  if (!lying.parted()) {
    const double third = (last - first) / 3.0;
    return {{"handle third", first, first + third},
            {"middle third", first + third, last - third},
            {"tip third", last - third, last}};
  }
  std::vector<double> creases;
  for (const Eigen::Vector2d& p : lying.plunge_mm) creases.push_back(p.x());
  const double plunge = median(creases);
  const double tip = std::max(plunge + kAtPlungeMm, last - kAtTipMm);
  return {{"ricasso", first, plunge},
          {"at the plunge line", plunge - kAtPlungeMm, plunge + kAtPlungeMm},
          {"along the bevel", plunge + kAtPlungeMm, tip},
          {"at the tip", tip, last},
          {"flat", plunge, last}};
}

double pixels_to_cm2(double count, double step_mm) { return 0.01 * count * step_mm * step_mm; }

/// Length of a line within a stretch of x, mm.
double length_within(const FoundScratch& scratch, double from_mm, double to_mm) {
  const double a = std::min(scratch.from_mm.x(), scratch.to_mm.x());
  const double b = std::max(scratch.from_mm.x(), scratch.to_mm.x());
  if (b - a < 1e-6) return a >= from_mm && a < to_mm ? scratch.length_mm : 0.0;
  const double share = (std::min(b, to_mm) - std::max(a, from_mm)) / (b - a);
  return std::max(0.0, share) * scratch.length_mm;
}

/// @param lengths_mm  Of the scratches there, a part each.
ScratchDensity density_of(double area_cm2, int count, const std::vector<double>& lengths_mm) {
  ScratchDensity density{.area_cm2 = area_cm2, .count = count};
  if (area_cm2 <= 0.0) return density;
  const Between all = count_interval(count, kMostMissed, kMostFalse * area_cm2);
  density.per_cm2 = {all.value / area_cm2, all.low / area_cm2, all.high / area_cm2};
  double sum = 0.0, squares = 0.0;
  for (const double length : lengths_mm) sum += length, squares += length * length;
  density.length_per_cm2 = sum / area_cm2;
  density.length_u = std::sqrt(squares) / area_cm2;  // of a compound Poisson process
  return density;
}

FoundScratch found(const LyingFace& lying, const FlatGrid& grid, const Groove& groove) {
  FoundScratch scratch;
  scratch.from_mm = grid.mm(groove.line.from), scratch.to_mm = grid.mm(groove.line.to);
  if (scratch.from_mm.y() > scratch.to_mm.y()) std::swap(scratch.from_mm, scratch.to_mm);
  scratch.lamp = groove.line.photo;
  const auto photo = static_cast<std::size_t>(scratch.lamp);
  scratch.from_px = lying.pixel(scratch.from_mm, photo);
  scratch.to_px = lying.pixel(scratch.to_mm, photo);
  scratch.length_mm = (scratch.to_mm - scratch.from_mm).norm();
  scratch.direction_rad = groove.line.direction_rad();
  scratch.over_noise = groove.line.over_noise;
  return scratch;
}

double middle_x(const FoundScratch& scratch) {
  return 0.5 * (scratch.from_mm.x() + scratch.to_mm.x());
}

void fill_zones(const LyingFace& lying, const FlatFace& flat, const cv::Mat& judged,
                FinishFaceResult& face) {
  face.zones = zones_of(lying, flat.grid);
  for (FoundScratch& scratch : face.scratches) {
    scratch.zone = zone_at(face.zones, lying, 0.5 * (scratch.from_mm + scratch.to_mm));
  }
  for (FinishZone& zone : face.zones) {
    const int from =
        std::clamp(static_cast<int>(flat.grid.px({zone.from_x_mm, 0.0}).x()), 0, flat.grid.columns);
    const int to = std::clamp(static_cast<int>(flat.grid.px({zone.to_x_mm, 0.0}).x()), from,
                              flat.grid.columns);
    const cv::Range columns(from, to);
    const bool of_flat = zone.name == "flat" || zone.name == "ricasso";
    const bool any = !lying.parted();
    const cv::Mat whole = flat.whole.colRange(columns);
    const cv::Mat here = any ? cv::Mat(whole > 0) : cv::Mat(whole == (of_flat ? kFlat : kBevel));
    const cv::Mat seen = here & judged.colRange(columns);
    const double all = cv::countNonZero(here), can = cv::countNonZero(seen);
    zone.judged_share = all > 0.0 ? can / all : 0.0;
    std::vector<double> lengths;
    int count = 0;
    for (const FoundScratch& scratch : face.scratches) {
      if (scratch.zone != zone.name) continue;
      ++count, lengths.push_back(scratch.length_mm);
    }
    zone.density = density_of(pixels_to_cm2(can, flat.grid.step_mm), count, lengths);
  }
  std::erase_if(face.zones, [](const FinishZone& zone) { return zone.density.area_cm2 < 0.1; });
}

void fill_stations(const FlatFace& flat, const cv::Mat& judged, double step_mm,
                   FinishFaceResult& face) {
  const double first = flat.grid.left_mm;
  const double last = first + flat.grid.columns * flat.grid.step_mm;
  for (double x = step_mm * std::floor(first / step_mm); x < last; x += step_mm) {
    const int from = std::clamp(static_cast<int>(flat.grid.px({x, 0.0}).x()), 0, judged.cols);
    const int to =
        std::clamp(static_cast<int>(flat.grid.px({x + step_mm, 0.0}).x()), from, judged.cols);
    if (to == from) continue;
    const double area =
        pixels_to_cm2(cv::countNonZero(judged.colRange(from, to)), flat.grid.step_mm);
    if (area < 0.2) continue;
    int count = 0;
    std::vector<double> lengths;
    for (const FoundScratch& scratch : face.scratches) {
      if (middle_x(scratch) >= x && middle_x(scratch) < x + step_mm) ++count;
      const double length = length_within(scratch, x, x + step_mm);
      if (length > 0.0) lengths.push_back(length);
    }
    face.stations.push_back({x + 0.5 * step_mm, density_of(area, count, lengths)});
  }
}

Measured shared_direction(const std::vector<double>& directions, double about) {
  double sum = 0.0, squares = 0.0;
  for (const double direction : directions) {
    double off = axis_of(direction - about);
    if (off > 0.5 * kPi) off -= kPi;
    sum += off, squares += off * off;
  }
  const auto n = static_cast<double>(directions.size());
  // A line of 2 mm at 8 px/mm, its points placed to a third of a px, and the blade's own axis.
  constexpr double kOneLine = radians(1.2), kAxis = radians(0.4);
  const double mean = sum / n;
  const double scatter = n > 1.0 ? std::max(0.0, squares / n - mean * mean) / (n - 1.0) : 0.0;
  return combine(axis_of(about + mean), {{"places of the lines", kOneLine / std::sqrt(n)},
                                         {"scatter of the lines", std::sqrt(scatter)},
                                         {"the blade's axis", kAxis}});
}

/// Those within 12 degrees of the fullest direction, then of the fullest of the rest.
std::vector<ScratchFamily> families_of(const std::vector<FoundScratch>& scratches) {
  constexpr double kReach = radians(12.0);
  std::vector<double> left;
  for (const FoundScratch& scratch : scratches) left.push_back(scratch.direction_rad);
  std::vector<ScratchFamily> families;
  while (!left.empty()) {
    std::vector<double> most;
    double about = 0.0;
    for (const double centre : left) {
      std::vector<double> near;
      for (const double other : left) {
        if (between_axes(centre, other) < kReach) near.push_back(other);
      }
      if (near.size() > most.size()) most = near, about = centre;
    }
    families.push_back({shared_direction(most, about), static_cast<int>(most.size())});
    std::erase_if(left, [&](double other) { return between_axes(about, other) < kReach; });
  }
  return families;
}

DirectionRange shown_by(const LampPlace& lamp) {
  const double widest = std::tan(0.5 * (0.5 * kPi - lamp.elevation_rad));
  const double half = widest <= kShinesUpTo ? 0.5 * kPi : std::asin(kShinesUpTo / widest);
  const double across = axis_of(lamp.azimuth_rad + 0.5 * kPi);
  return {axis_of(across - half), axis_of(across - half) + 2.0 * half};
}

LampLook look_of(const SeenPhoto& seen, const FlatPhoto& photo, const cv::Mat& surface) {
  LampLook look{.photo = seen.photo->name};
  if (photo.lamp) {
    look.azimuth_rad = photo.lamp->azimuth_rad, look.elevation_rad = photo.lamp->elevation_rad;
    look.shows = shown_by(*photo.lamp);
    if (const auto tick = lamp_tick_at(photo.lamp->on_card_rad)) look.tick = tick->number;
  }
  const double all = std::max(1, cv::countNonZero(surface));
  look.blown_share = cv::countNonZero((surface > 0) & photo.blown) / all;
  look.dark_share = cv::countNonZero((surface > 0) & photo.dark) / all;
  look.blur_px = photo.blur_px;
  look.pose = seen.pose;
  look.corners_found = seen.corners;
  return look;
}

bool shown(const std::vector<LampLook>& lamps, double direction) {
  return std::any_of(lamps.begin(), lamps.end(), [&](const LampLook& lamp) {
    return lamp.azimuth_rad &&
           lean_along(direction, *lamp.azimuth_rad, *lamp.elevation_rad) <= kShinesUpTo;
  });
}

bool within_lays(const std::vector<Lay>& lays, double direction) {
  bool any = false;
  for (const Lay& lay : lays) {
    if (!lay.direction_rad) continue;
    if (between_axes(*lay.direction_rad, direction) >= kBesideLay) return false;
    any = true;
  }
  return any;
}

/// In steps of 5 degrees; ranges narrower than 10 are not worth a word.
std::vector<DirectionRange> blind_ranges(const FinishFaceResult& face) {
  constexpr int kSteps = 36;
  std::array<bool, kSteps> blind{};
  for (int k = 0; k < kSteps; ++k) {
    const double direction = kPi * k / kSteps;
    blind[static_cast<std::size_t>(k)] =
        !shown(face.lamps, direction) && !within_lays(face.lays, direction);
  }
  if (std::all_of(blind.begin(), blind.end(), [](bool b) { return b; })) return {{0.0, kPi}};
  std::vector<DirectionRange> ranges;
  for (int k = 0; k < kSteps; ++k) {
    if (!blind[static_cast<std::size_t>(k)] ||
        blind[static_cast<std::size_t>((k + kSteps - 1) % kSteps)])
      continue;
    int length = 0;
    while (blind[static_cast<std::size_t>((k + length) % kSteps)]) ++length;
    if (length >= 2) ranges.push_back({kPi * k / kSteps, kPi * (k + length) / kSteps});
  }
  return ranges;
}

std::vector<Eigen::Vector2d> thinned(const side::Curve& curve) {
  std::vector<Eigen::Vector2d> points;
  for (std::size_t i = 0; i < curve.z_mm.size(); i += 2) {
    if (!std::isnan(curve.z_mm[i])) points.emplace_back(curve.x(i), curve.z_mm[i]);
  }
  return points;
}

void add_outline(const LyingFace& lying, FinishFaceResult& face) {
  face.outline_mm = thinned(lying.edge);
  const std::vector<Eigen::Vector2d> spine = thinned(lying.spine);
  face.outline_mm.insert(face.outline_mm.end(), spine.rbegin(), spine.rend());
  face.bevel_line_mm = thinned(lying.bevel);
  face.plunge_line_mm = lying.plunge_mm;
}

void add_corners(const LyingFace& lying, const FlatGrid& grid, FinishFaceResult& face) {
  for (std::size_t i = 0; i < face.lamps.size(); ++i) {
    if (face.lamps[i].saw > face.lamps[static_cast<std::size_t>(face.best_lamp)].saw)
      face.best_lamp = static_cast<int>(i);
  }
  const SeenPhoto& photo = lying.photos[static_cast<std::size_t>(face.best_lamp)];
  for (int k = 0; k < 4; ++k) {
    const auto at = static_cast<std::size_t>(k);
    face.corner_mm[at] = grid.mm({k % 2 == 0 ? 0.0 : grid.columns, k < 2 ? 0.0 : grid.rows});
    face.corner_px[at] = photo.plane.pixel(lying.reading.axes.plane(face.corner_mm[at]));
  }
}

}  // namespace

FinishFaceResult summarise(const LyingFace& lying, const FlatFace& flat, const LineBank& bank,
                           const std::vector<Groove>& grooves, const std::vector<Lay>& lays,
                           const FinishSettings& settings) {
  FinishFaceResult face{.face = lying.reading.face};
  face.length_mm = lying.reading.length_mm;
  face.scale_px_per_mm = 1.0 / flat.grid.step_mm;
  // An end is read in the light along the line: off by 0.1 mm either way (24 drawn scenes).
  constexpr double kEndUMm = 0.1;
  face.place_u_mm = std::hypot(lying.u_place_mm, kEndUMm);
  for (const Lay& lay : lays) {
    if (lay.coherence > 0.0) face.lays.push_back(lay);
  }
  for (std::size_t i = 0; i < flat.photos.size(); ++i) {
    face.lamps.push_back(look_of(lying.photos[i], flat.photos[i], flat.surface));
  }
  const Judged judged = judged_part(flat, bank);
  std::vector<double> lengths;
  for (const Groove& groove : grooves) {
    face.scratches.push_back(found(lying, flat.grid, groove));
    lengths.push_back(face.scratches.back().length_mm);
    for (std::size_t i = 0; i < face.lamps.size(); ++i) face.lamps[i].saw += groove.shines[i];
  }
  face.smallest_mm = judged.smallest_mm;
  const double step = flat.grid.step_mm;
  const double can = cv::countNonZero(judged.mask), all = cv::countNonZero(flat.whole);
  face.face_area_cm2 = pixels_to_cm2(all, step);
  face.judged_share = all > 0.0 ? can / all : 0.0;
  face.density = density_of(pixels_to_cm2(can, step), static_cast<int>(grooves.size()), lengths);
  face.families = families_of(face.scratches);
  face.blind = blind_ranges(face);
  fill_zones(lying, flat, judged.mask, face);
  fill_stations(flat, judged.mask, settings.step_mm, face);
  add_outline(lying, face);
  add_corners(lying, flat.grid, face);
  return face;
}

}  // namespace evenbevel::finish
