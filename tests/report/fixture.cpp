#include "fixture.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/LU>

namespace evenbevel::test {
namespace {

constexpr int kWidth = 1200;
constexpr int kHeight = 1200;

bool is_unseen(const DrawnBlade& blade, int station) {
  return std::find(blade.unseen.begin(), blade.unseen.end(), station) != blade.unseen.end();
}

/// y of a trace at x, blade frame.
double y_of(const DrawnBlade& blade, EdgeTrace::Kind kind, double x_mm) {
  using Kind = EdgeTrace::Kind;
  const double c = blade.offset_at(x_mm);
  switch (kind) {
    case Kind::flat_left:
      return 0.5 * blade.thickness_mm;
    case Kind::flat_right:
      return -0.5 * blade.thickness_mm;
    case Kind::scribe_left:
    case Kind::land_left:
      return c + 0.5 * blade.width_mm;
    case Kind::scribe_right:
    case Kind::land_right:
      return c - 0.5 * blade.width_mm;
  }
  return 0.0;
}

EdgeTrace trace_of(const DrawnBlade& blade, EdgeTrace::Kind kind) {
  EdgeTrace trace{.kind = kind, .points_px = {}, .coverage = 0.95};
  for (double x_mm = 0.0; x_mm <= blade.length_mm; x_mm += 1.0 / blade.scale_px_per_mm) {
    trace.points_px.push_back(pixel_of(blade, x_mm, y_of(blade, kind, x_mm)));
  }
  return trace;
}

std::vector<BudgetLine> offset_budget(const DrawnBlade& blade) {
  return {{"edge location noise", 0.6 * blade.offset_u_mm, 30.0},
          {"parallax", 0.8 * blade.offset_u_mm}};
}

EdgeStation station_of(const DrawnBlade& blade, int index) {
  EdgeStation station;
  station.x_mm = index * blade.step_mm;
  if (is_unseen(blade, index)) return station;
  const double c = blade.offset_at(station.x_mm);
  station.px = pixel_of(blade, station.x_mm, c);
  station.centreline_offset_mm = combine(c, offset_budget(blade));
  station.thickness_mm = Measured{blade.thickness_mm, 0.006};
  const Measured width{blade.width_mm, blade.width_u_mm};
  (blade.stage == Stage::scribed ? station.line_gap_mm : station.land_width_mm) = width;
  if (blade.stage == Stage::ground) {
    const double facets_mm = 0.5 * (blade.thickness_mm - blade.width_mm);
    station.facet_width_left_mm = Measured{facets_mm - c, 0.008};
    station.facet_width_right_mm = Measured{facets_mm + c, 0.008};
  }
  station.residual_px = 0.12;
  return station;
}

void summarise_offset(EdgeResult& result) {
  double sum = 0.0;
  double count = 0.0;
  for (const EdgeStation& station : result.stations) {
    if (!station.centreline_offset_mm) continue;
    const Measured& c = *station.centreline_offset_mm;
    sum += c.value;
    count += 1.0;
    if (!result.centreline_offset_worst_mm ||
        std::abs(c.value) > std::abs(result.centreline_offset_worst_mm->value)) {
      result.centreline_offset_worst_mm = c;
      result.worst_x_mm = station.x_mm;
    }
  }
  if (count == 0.0) return;
  const Measured& worst = *result.centreline_offset_worst_mm;
  result.centreline_offset_mm = Measured{sum / count, 0.8 * worst.u, 40.0};
  result.symmetry_mm = Measured{2.0 * std::abs(worst.value), 2.0 * worst.u, worst.dof};
  result.coverage = count / static_cast<double>(result.stations.size());
}

void summarise_rest(EdgeResult& result, const DrawnBlade& blade) {
  result.thickness_mm = Measured{blade.thickness_mm, 0.006};
  const Measured width{blade.width_mm, blade.width_u_mm};
  (blade.stage == Stage::scribed ? result.line_gap_mm : result.land_width_mm) = width;
  if (blade.stage == Stage::scribed) return;
  result.x_from_plunge = true;
  result.plunge_left_mm = Measured{0.2, 0.03};
  result.plunge_right_mm = Measured{-0.2, 0.03};
  result.plunge_mismatch_mm = Measured{0.4, 0.045};
  if (blade.stage != Stage::ground) return;
  const double facets_mm = 0.5 * (blade.thickness_mm - blade.width_mm);
  result.facet_width_left_mm = Measured{facets_mm - blade.offset_mm, 0.008};
  result.facet_width_right_mm = Measured{facets_mm + blade.offset_mm, 0.008};
  result.facet_width_difference_mm = Measured{-2.0 * blade.offset_mm, 0.010};
  result.facet_angle_left_rad = Measured{radians(44.0), radians(0.5)};
  result.facet_angle_right_rad = Measured{radians(46.0), radians(0.5)};
}

std::vector<EdgeTrace> traces_of(const DrawnBlade& blade) {
  using Kind = EdgeTrace::Kind;
  const bool scribed = blade.stage == Stage::scribed;
  std::vector<EdgeTrace> traces;
  for (const Kind kind :
       {Kind::flat_left, Kind::flat_right, scribed ? Kind::scribe_left : Kind::land_left,
        scribed ? Kind::scribe_right : Kind::land_right}) {
    traces.push_back(trace_of(blade, kind));
  }
  return traces;
}

/// Share of a pixel, taken as a box as wide as itself, on the side of positive distance.
double covered(double distance_px) { return std::clamp(distance_px + 0.5, 0.0, 1.0); }

/// Share of a pixel that lies in a band.
double in_band(double y_px, double from_px, double to_px) {
  return covered(y_px - from_px) * covered(to_px - y_px);
}

/// Grey of the blade's surface at a place.
double grey_at(const DrawnBlade& blade, double x_mm, double y_mm) {
  constexpr double kGround = 40.0, kSteel = 120.0, kBright = 255.0;
  constexpr double kLine_mm = 0.1;
  const double px = blade.scale_px_per_mm;
  const double half_mm = 0.5 * blade.thickness_mm;
  const double along = in_band(x_mm * px, 0.0, blade.length_mm * px);
  const double steel = along * in_band(y_mm * px, -half_mm * px, half_mm * px);
  const auto band = [&](double middle_mm, double width_mm) {
    const double y_px = (y_mm - blade.offset_at(x_mm) - middle_mm) * px;
    return in_band(y_px, -0.5 * width_mm * px, 0.5 * width_mm * px);
  };
  const double bright = blade.stage == Stage::scribed ? band(0.5 * blade.width_mm, kLine_mm) +
                                                            band(-0.5 * blade.width_mm, kLine_mm)
                                                      : band(0.0, blade.width_mm);
  return kGround + steel * (kSteel - kGround + bright * (kBright - kSteel));
}

}  // namespace

Eigen::Vector2d pixel_of(const DrawnBlade& blade, double x_mm, double y_mm) {
  const double cosine = std::cos(blade.direction_rad);
  const double sine = std::sin(blade.direction_rad);
  const Eigen::Vector2d to_tip(cosine, sine);
  const Eigen::Vector2d to_left(-sine, cosine);  // edge up, tip right: left lies below
  const Eigen::Vector2d centre(0.5 * (kWidth - 1), 0.5 * (kHeight - 1));
  const Eigen::Vector2d up =
      centre + blade.scale_px_per_mm * ((x_mm - 0.5 * blade.length_mm) * to_tip + y_mm * to_left);
  // The picture is square, so that these inverses of EXIF's turns need one size only.
  const double last = kWidth - 1.0;
  switch (blade.orientation) {
    case 3:
      return {last - up.x(), last - up.y()};
    case 6:
      return {up.y(), last - up.x()};
    case 8:
      return {last - up.y(), up.x()};
    case 2:
      return {last - up.x(), up.y()};
    default:
      return up;
  }
}

EdgeResult result_of(const DrawnBlade& blade) {
  EdgeResult result;
  result.stage = blade.stage;
  result.tip = std::cos(blade.direction_rad) >= 0.0 ? Tip::right : Tip::left;
  const int stations = static_cast<int>(std::floor(blade.length_mm / blade.step_mm)) + 1;
  for (int i = 0; i < stations; ++i) result.stations.push_back(station_of(blade, i));
  summarise_offset(result);
  summarise_rest(result, blade);
  result.traces = traces_of(blade);
  if (result.centreline_offset_mm) result.centreline_offset_mm->budget = offset_budget(blade);
  if (result.facet_angle_left_rad)
    result.facet_angle_left_rad->budget = {{"edge location noise", radians(0.5)}};
  result.scale_px_per_mm = blade.scale_px_per_mm;
  result.blur_px = 1.1;
  result.edge_height_mm = 4.0;
  result.camera_distance_mm = 250.0;
  result.camera_lateral_mm = 3.0;
  result.pose.emplace();
  result.pose->corners = 120;
  result.pose->rms_px = 0.2;
  result.corners_found = 124;
  result.warnings = {remark<RemarkCode::photo_soft>(1.9)};
  result.advice = {remark<RemarkCode::move_over_edge>("right")};
  return result;
}

Photo photo_of(const DrawnBlade& blade) {
  Photo photo;
  photo.name = "blade <one> & \"two\".jpg";
  photo.orientation = blade.orientation;
  photo.pixels.create(kHeight, kWidth, CV_8UC3);
  const Eigen::Vector2d origin = pixel_of(blade, 0.0, 0.0);
  Eigen::Matrix2d px_per_mm;
  px_per_mm << pixel_of(blade, 1.0, 0.0) - origin, pixel_of(blade, 0.0, 1.0) - origin;
  const Eigen::Matrix2d mm_per_px = px_per_mm.inverse();
  for (int i = 0; i < kHeight; ++i) {
    for (int j = 0; j < kWidth; ++j) {
      const Eigen::Vector2d place_mm = mm_per_px * (Eigen::Vector2d(j, i) - origin);
      const auto grey = static_cast<uchar>(std::lround(grey_at(blade, place_mm.x(), place_mm.y())));
      photo.pixels.at<cv::Vec3b>(i, j) = {grey, grey, grey};
    }
  }
  return photo;
}

CameraModel camera_of(const DrawnBlade&) {
  CameraModel camera;
  camera.width_px = kWidth;
  camera.height_px = kHeight;
  camera.focal_px.setConstant(2900.0);
  camera.centre_px.x() = camera.centre_px.y() = 599.5;
  return camera;
}

EdgeSettings settings_of(const DrawnBlade& blade) {
  EdgeSettings settings;
  settings.thickness_mm = blade.thickness_mm;
  settings.step_mm = blade.step_mm;
  return settings;
}

}  // namespace evenbevel::test
