#include "side_fixture.hpp"

#include <algorithm>
#include <cmath>

#include "evenbevel/units.hpp"

namespace evenbevel::test {
namespace {

constexpr int kFaceWidth = 1100, kFaceHeight = 500;
constexpr double kThickness_mm = 2.5;
constexpr double kDistance_mm = 300.0;  // camera to the upper face
constexpr double kPlungeZ_mm = 9.0;

CameraModel camera_of(const DrawnFaces& blade) {
  CameraModel camera;
  camera.width_px = kFaceWidth;
  camera.height_px = kFaceHeight;
  camera.focal_px.setConstant(blade.scale_px_per_mm * kDistance_mm);
  camera.centre_px = {0.5 * (kFaceWidth - 1), 0.5 * (kFaceHeight - 1)};
  return camera;
}

Transform<Camera, Card> straight_down() {
  Transform<Camera, Card> T_camera_card;
  T_camera_card.matrix.linear() = Eigen::Vector3d(1.0, -1.0, -1.0).asDiagonal();
  T_camera_card.matrix.translation() = Eigen::Vector3d(0.0, 0.0, kDistance_mm + kThickness_mm);
  return T_camera_card;
}

/// Place in the photo of (x, z): edge down, the left face with its tip to the left.
Eigen::Vector2d pixel_of(const DrawnFaces& blade, Face face, const Eigen::Vector2d& xz_mm) {
  const double along = xz_mm.x() - 0.5 * (blade.from_mm + blade.to_mm);
  const double up = xz_mm.y() - 0.5 * blade.blade_height_mm;
  const Eigen::Vector2d level(face == Face::left ? -along : along, -up);
  const Eigen::Vector2d turned = Eigen::Rotation2Dd(blade.turned_rad) * level;
  return Eigen::Vector2d(0.5 * (kFaceWidth - 1), 0.5 * (kFaceHeight - 1)) +
         blade.scale_px_per_mm * turned;
}

Eigen::Vector2d place_of(const DrawnFaces& blade, Face face, const Eigen::Vector2d& q_px) {
  const Eigen::Vector2d centred =
      q_px - Eigen::Vector2d(0.5 * (kFaceWidth - 1), 0.5 * (kFaceHeight - 1));
  const Eigen::Vector2d level =
      Eigen::Rotation2Dd(-blade.turned_rad) * (centred / blade.scale_px_per_mm);
  const double along = face == Face::left ? -level.x() : level.x();
  return {along + 0.5 * (blade.from_mm + blade.to_mm), 0.5 * blade.blade_height_mm - level.y()};
}

double bevel_of(const DrawnFaces& blade, Face face) {
  return face == Face::left ? blade.bevel_left_mm : blade.bevel_right_mm;
}
double plunge_of(const DrawnFaces& blade, Face face) {
  return face == Face::left ? blade.plunge_left_mm : blade.plunge_right_mm;
}

FaceTrace trace_between(const DrawnFaces& blade, Face face, FaceTrace::Kind kind,
                        const Eigen::Vector2d& from_mm, const Eigen::Vector2d& to_mm) {
  FaceTrace trace{.kind = kind, .face = face, .points_px = {}, .points_mm = {}, .coverage = 0.97};
  const int count = static_cast<int>((to_mm - from_mm).norm() * 4.0);
  for (int i = 0; i <= count; ++i) {
    const Eigen::Vector2d p = from_mm + (to_mm - from_mm) * i / count;
    trace.points_mm.push_back(p);
    trace.points_px.push_back(pixel_of(blade, face, p));
  }
  return trace;
}

void add_traces(SideResult& result, const DrawnFaces& blade, Face face) {
  using Kind = FaceTrace::Kind;
  const double bevel = bevel_of(blade, face);
  const double plunge = plunge_of(blade, face);
  result.traces.push_back(
      trace_between(blade, face, Kind::edge, {blade.from_mm, 0.0}, {blade.to_mm, 0.0}));
  result.traces.push_back(trace_between(blade, face, Kind::spine,
                                        {blade.from_mm, blade.blade_height_mm},
                                        {blade.to_mm, blade.blade_height_mm}));
  result.traces.push_back(
      trace_between(blade, face, Kind::bevel, {plunge, bevel}, {blade.to_mm - 2.0, bevel}));
  result.traces.push_back(trace_between(blade, face, Kind::plunge, {plunge, 0.0}, {plunge, bevel}));
}

FaceStation face_station(const DrawnFaces& blade, Face face, double x_mm, bool seen) {
  FaceStation station;
  station.edge_px = pixel_of(blade, face, {x_mm, 0.0});
  station.spine_px = pixel_of(blade, face, {x_mm, blade.blade_height_mm});
  station.blade_height_mm = Measured{blade.blade_height_mm, 0.02};
  if (!seen) return station;
  const double bevel = bevel_of(blade, face);
  station.bevel_px = pixel_of(blade, face, {x_mm, bevel});
  station.bevel_height_mm = Measured{bevel, 0.02};
  station.spine_to_bevel_mm = Measured{blade.blade_height_mm - bevel, 0.02};
  station.bevel_angle_rad = Measured{radians(3.5), radians(0.1)};
  return station;
}

SideStation station_at(const DrawnFaces& blade, int index) {
  SideStation station;
  station.x_mm = blade.from_mm + index;
  const bool bevel = station.x_mm >= 1.0 && station.x_mm <= blade.to_mm - 2.0;
  const bool gap = std::find(blade.unseen.begin(), blade.unseen.end(), index) != blade.unseen.end();
  station.left = face_station(blade, Face::left, station.x_mm, bevel && !gap);
  if (!blade.both) return station;
  station.right = face_station(blade, Face::right, station.x_mm, bevel);
  if (!bevel || gap) return station;
  station.bevel_height_difference_mm =
      Measured{blade.bevel_left_mm - blade.bevel_right_mm, blade.difference_u_mm};
  station.included_angle_rad = Measured{radians(7.0), radians(0.15)};
  return station;
}

void add_face_summary(SideResult& result, const DrawnFaces& blade) {
  result.bevel_height_left_mm = Measured{blade.bevel_left_mm, 0.02};
  result.spine_to_bevel_left_mm = Measured{blade.blade_height_mm - blade.bevel_left_mm, 0.02};
  result.bevel_straightness_left_mm = Measured{0.05, 0.02};
  result.plunge_left_mm = Measured{blade.plunge_left_mm, 0.04};
  result.plunge_angle_left_rad = Measured{radians(1.5), radians(0.3)};
  result.plunge_radius_left_mm = Measured{4.0, 0.2};
  result.bevel_angle_left_rad = Measured{radians(3.5), radians(0.1)};
}

void add_other_face_summary(SideResult& result, const DrawnFaces& blade) {
  result.bevel_height_right_mm = Measured{blade.bevel_right_mm, 0.02};
  result.spine_to_bevel_right_mm = Measured{blade.blade_height_mm - blade.bevel_right_mm, 0.02};
  result.bevel_straightness_right_mm = Measured{0.06, 0.02};
  result.plunge_right_mm = Measured{blade.plunge_right_mm, 0.04};
  result.plunge_angle_right_rad = Measured{radians(-0.5), radians(0.3)};
  result.plunge_radius_right_mm = Measured{4.5, 0.2};
  result.bevel_angle_right_rad = Measured{radians(3.5), radians(0.1)};
  const Measured difference{blade.bevel_left_mm - blade.bevel_right_mm, blade.difference_u_mm};
  result.bevel_height_difference_mm = difference;
  result.bevel_height_difference_worst_mm = difference;
  result.worst_x_mm = 40.0;
  result.plunge_mismatch_mm =
      Measured{blade.plunge_left_mm - blade.plunge_right_mm, blade.mismatch_u_mm};
  result.plunge_angle_difference_rad = Measured{radians(2.0), radians(0.4)};
  result.plunge_radius_difference_mm = Measured{-0.5, 0.3};
  result.included_angle_rad = Measured{radians(7.0), radians(0.15)};
  result.outlines = OutlineFit{0.02, 0.06, 0.01, 0.008, radians(0.01)};
}

FaceLook look_of(Face face) {
  FaceLook look;
  look.face = face;
  look.pose.T_camera_card = straight_down();
  look.pose.corners = 300;
  look.corners_found = 310;
  look.scale_px_per_mm = 8.0;
  look.blur_px = 1.0;
  look.camera_distance_mm = kDistance_mm;
  look.bevel_coverage = 0.97;
  return look;
}

PlungeAtHeight plunge_at(const DrawnFaces& blade, double z_mm) {
  PlungeAtHeight plunge;
  plunge.z_mm = z_mm;
  plunge.left_mm = Measured{blade.plunge_left_mm, 0.04};
  if (!blade.both) return plunge;
  plunge.right_mm = Measured{blade.plunge_right_mm, 0.04};
  plunge.mismatch_mm = Measured{blade.plunge_left_mm - blade.plunge_right_mm, blade.mismatch_u_mm};
  return plunge;
}

/// Share of a pixel, taken as a box as wide as itself, on the side of positive distance.
double share_covered(double distance_px) { return std::clamp(distance_px + 0.5, 0.0, 1.0); }

Photo photo_of(const DrawnFaces& blade, Face face) {
  constexpr double kGreen[] = {60.0, 110.0, 0.0};  // BGR
  constexpr double kFlat = 110.0, kBevel = 220.0;
  Photo photo;
  photo.name = face == Face::left ? "left <one> & \"two\".jpg" : "right.jpg";
  photo.pixels.create(kFaceHeight, kFaceWidth, CV_8UC3);
  const double px = blade.scale_px_per_mm;
  for (int i = 0; i < kFaceHeight; ++i) {
    for (int j = 0; j < kFaceWidth; ++j) {
      const Eigen::Vector2d p = place_of(blade, face, Eigen::Vector2d(j, i));
      const double steel =
          share_covered(px * p.y()) * share_covered(px * (blade.blade_height_mm - p.y())) *
          share_covered(px * (p.x() - blade.from_mm)) * share_covered(px * (blade.to_mm - p.x()));
      const double bevel = share_covered(px * (bevel_of(blade, face) - p.y())) *
                           share_covered(px * (p.x() - plunge_of(blade, face)));
      const double grey = kFlat + bevel * (kBevel - kFlat);
      for (int c = 0; c < 3; ++c) {
        photo.pixels.at<cv::Vec3b>(i, j)[c] =
            cv::saturate_cast<uchar>(kGreen[c] + steel * (grey - kGreen[c]));
      }
    }
  }
  return photo;
}

}  // namespace

SideResult result_of(const DrawnFaces& blade) {
  SideResult result;
  result.x_from_plunge = true;
  result.plunge_z_mm = kPlungeZ_mm;
  result.faces.push_back(look_of(Face::left));
  add_traces(result, blade, Face::left);
  add_face_summary(result, blade);
  if (blade.both) {
    result.faces.push_back(look_of(Face::right));
    add_traces(result, blade, Face::right);
    add_other_face_summary(result, blade);
  }
  const int stations = static_cast<int>(blade.to_mm - blade.from_mm) + 1;
  for (int i = 0; i < stations; ++i) result.stations.push_back(station_at(blade, i));
  for (const double z_mm : {2.0, 5.0, kPlungeZ_mm, 13.0}) {
    result.plunges.push_back(plunge_at(blade, z_mm));
  }
  result.bevel_height_left_mm->budget = {{"line location", 0.015, 40.0}, {"scale", 0.013}};
  result.plunge_angle_left_rad->budget = {{"line location", radians(0.3)}};
  result.warnings = {remark<RemarkCode::card_bent>(0.4)};
  result.advice = {remark<RemarkCode::camera_over_blade>()};
  return result;
}

FacePhotos::FacePhotos(const DrawnFaces& blade) : camera_(camera_of(blade)) {
  photos_.push_back(photo_of(blade, Face::left));
  if (blade.both) photos_.push_back(photo_of(blade, Face::right));
}

std::vector<FacePhoto> FacePhotos::given() const {
  std::vector<FacePhoto> photos = {{Face::left, &photos_.front(), &camera_}};
  if (photos_.size() > 1) photos.push_back({Face::right, &photos_.back(), &camera_});
  return photos;
}

SideSettings side_settings() {
  SideSettings settings;
  settings.thickness_mm = kThickness_mm;
  settings.land_mm = 0.25;
  return settings;
}

}  // namespace evenbevel::test
