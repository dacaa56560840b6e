#include "choil_fixture.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/Geometry>

#include "evenbevel/units.hpp"

namespace evenbevel::test {
namespace {

constexpr int kSize = 900;  // square, so that EXIF's turns need one size only
const Eigen::Vector2d kEdge_px(450.0, 120.0);

/// From the upright to the stored pixel.
Eigen::Vector2d stored_of(const Eigen::Vector2d& up, int orientation) {
  const double last = kSize - 1.0;
  switch (orientation) {
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

Eigen::Vector2d upright_of(const Eigen::Vector2d& stored, int orientation) {
  const double last = kSize - 1.0;
  switch (orientation) {
    case 6:
      return {last - stored.y(), stored.x()};
    case 8:
      return {stored.y(), last - stored.x()};
    default:
      return stored_of(stored, orientation);
  }
}

/// Seen from the heel with the edge up, the left face is at the right.
Eigen::Vector2d pixel_of(const DrawnSection& section, double y_mm, double depth_mm) {
  const Eigen::Vector2d turned =
      Eigen::Rotation2Dd(section.turned_rad) * Eigen::Vector2d(y_mm, depth_mm);
  return stored_of(kEdge_px + section.scale_px_per_mm * turned, section.orientation);
}

ChoilDepth depth_at(const DrawnSection& section, double depth_mm) {
  ChoilDepth depth;
  depth.depth_mm = depth_mm;
  const double left = section.half_left_mm(depth_mm);
  const double right = section.half_right_mm(depth_mm);
  depth.left_px = pixel_of(section, left, depth_mm);
  depth.right_px = pixel_of(section, -right, depth_mm);
  depth.thickness_mm = Measured{left + right, 0.005};
  depth.half_left_mm = Measured{left, 0.006};
  depth.half_right_mm = Measured{right, 0.006};
  depth.asymmetry_mm = Measured{left - right, section.asymmetry_u_mm};
  return depth;
}

void add_sides(ChoilResult& result, const DrawnSection& section) {
  result.left.angle_rad = Measured{section.angle_left_rad, radians(0.05)};
  result.left.shape = SideShape::flat;
  result.left.bow_mm = Measured{0.004, 0.004};
  result.right.angle_rad = Measured{section.angle_right_rad, radians(0.05)};
  result.right.shape = SideShape::hollow;
  result.right.bow_mm = Measured{-0.12, 0.01};
  result.right.hollow_radius_mm = Measured{125.0, 9.0};
  result.right.hollow_radius_low_mm = 108.0;
  result.right.hollow_radius_high_mm = 147.0;
  result.included_angle_rad =
      Measured{section.angle_left_rad + section.angle_right_rad, radians(0.07)};
}

}  // namespace

double DrawnSection::half_left_mm(double depth_mm) const {
  return 0.5 * edge_mm + depth_mm * std::tan(angle_left_rad);
}
double DrawnSection::half_right_mm(double depth_mm) const {
  return 0.5 * edge_mm + depth_mm * std::tan(angle_right_rad);
}

ChoilResult result_of(const DrawnSection& section) {
  ChoilResult result;
  for (const double depth_mm : ChoilSettings{}.at_mm) {
    result.depths.push_back(depth_at(section, depth_mm));
  }
  for (int i = 0; i <= 100; ++i) {
    result.outline.push_back(depth_at(section, section.deep_mm * i / 100.0));
  }
  add_sides(result, section);
  result.edge_thickness_mm = Measured{section.edge_mm, 0.01};
  result.asymmetry_mm =
      Measured{section.half_left_mm(20.0) - section.half_right_mm(20.0), section.asymmetry_u_mm};
  result.asymmetry_depth_mm = 20.0;
  result.stock_thickness_mm = Measured{2.5, 0.01};
  result.range_from_mm = 1.0;
  result.range_to_mm = 20.0;
  result.edge_px = pixel_of(section, 0.0, 0.0);
  result.axis_px = (pixel_of(section, 0.0, 10.0) - result.edge_px).normalized();
  result.axis_from = AxisSource::flats;
  result.axis_lean_rad = Measured{section.turned_rad, radians(0.1)};
  result.pose.corners = 40;
  result.corners_found = 42;
  result.scale_px_per_mm = section.scale_px_per_mm;
  result.blur_px = 0.9;
  result.camera_distance_mm = 160.0;
  result.included_angle_rad->budget = {{"edge location", radians(0.06), 60.0},
                                       {"scale", radians(0.03)}};
  result.asymmetry_mm->budget = {{"axis", 0.01}};
  result.warnings = {remark<RemarkCode::paper_over_exposed>(13.0)};
  result.advice = {remark<RemarkCode::expose_paper_less>()};
  return result;
}

Photo photo_of(const DrawnSection& section) {
  constexpr double kPaper = 235.0, kSteel = 60.0;
  Photo photo;
  photo.name = "heel.jpg";
  photo.orientation = section.orientation;
  photo.pixels.create(kSize, kSize, CV_8UC3);
  const double px = section.scale_px_per_mm;
  const auto covered = [](double distance_px) { return std::clamp(distance_px + 0.5, 0.0, 1.0); };
  for (int i = 0; i < kSize; ++i) {
    for (int j = 0; j < kSize; ++j) {
      const Eigen::Vector2d up = upright_of({j, i}, section.orientation);
      const Eigen::Vector2d p = Eigen::Rotation2Dd(-section.turned_rad) * ((up - kEdge_px) / px);
      const double steel = covered(px * p.y()) *
                           covered(px * (section.half_left_mm(p.y()) - p.x())) *
                           covered(px * (section.half_right_mm(p.y()) + p.x()));
      const auto grey = cv::saturate_cast<uchar>(kPaper + steel * (kSteel - kPaper));
      photo.pixels.at<cv::Vec3b>(i, j) = {grey, grey, grey};
    }
  }
  return photo;
}

CameraModel choil_camera() {
  CameraModel camera;
  camera.width_px = camera.height_px = kSize;
  camera.focal_px.setConstant(3200.0);
  camera.centre_px.x() = camera.centre_px.y() = 0.5 * (kSize - 1);
  return camera;
}

}  // namespace evenbevel::test
