#include "scene.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/Geometry>

#include "evenbevel/units.hpp"
#include "lens.hpp"
#include "shading.hpp"

namespace evenbevel::test {
namespace {

/// How deep the facet cuts into the half thickness at the edge, clear of the fillet.
double full_depth_mm(const BladeShape& blade, bool left, double x_mm) {
  const double middle = left ? blade.offset_mm(x_mm) : -blade.offset_mm(x_mm);
  return 0.5 * blade.thickness_mm - middle - 0.5 * blade.land_width_mm(x_mm);
}

/// Along the blade, from where the fillet stands at `height_mm` to where it ends.
double fillet_run_mm(double radius_mm, double height_mm) {
  const double rest = radius_mm - height_mm;
  return std::sqrt(std::max(0.0, radius_mm * radius_mm - rest * rest));
}

double fillet_end_mm(const BladeShape& blade, bool left) {
  const Plunge& plunge = left ? blade.left.plunge : blade.right.plunge;
  const double half_depth = 0.5 * full_depth_mm(blade, left, plunge.x_mm);
  return plunge.x_mm + fillet_run_mm(plunge.radius_mm, half_depth);
}

struct Side {
  double border_mm = 0.0;  ///< Distance of the land's border from the mid-plane.
  double tan = 1.0;
  double fillet = 0.0;
};

Side facet_side(const BladeShape& blade, bool left, double x_mm) {
  const Facet& facet = left ? blade.left : blade.right;
  const double depth = full_depth_mm(blade, left, x_mm);
  const double back = std::max(0.0, fillet_end_mm(blade, left) - x_mm);
  const double radius = facet.plunge.radius_mm;
  const double rise = back >= radius ? depth : radius - std::sqrt(radius * radius - back * back);
  Side side;
  side.fillet = std::clamp(rise / depth, 0.0, 1.0);
  side.border_mm = 0.5 * blade.thickness_mm - depth * (1.0 - side.fillet);
  side.tan = blade.stage == SceneStage::bevelled ? depth / facet.bevel_height_mm
                                                 : std::tan(facet.angle_rad);
  return side;
}

}  // namespace

double Curve::operator()(double x_mm) const {
  double value = at_zero + x_mm * (slope + x_mm * bow);
  if (ripple != 0.0) value += ripple * std::sin(2.0 * kPi * x_mm / period_mm + phase_rad);
  return value;
}

Transform<Card, Blade> card_from_blade(const SetUp& set_up) {
  // Edge up: the blade's z points into the card; with the tip to the right its y is the card's -y.
  Eigen::Matrix3d R_card_upright = Eigen::Vector3d(1.0, -1.0, -1.0).asDiagonal();
  const double heading = set_up.in_plane_rad + (set_up.tip_left ? kPi : 0.0);
  Transform<Card, Blade> T_card_blade;
  T_card_blade.matrix.linear() =
      Eigen::AngleAxisd(heading, Eigen::Vector3d::UnitZ()).toRotationMatrix() * R_card_upright *
      Eigen::AngleAxisd(set_up.jaw_tilt_rad, Eigen::Vector3d::UnitX()).toRotationMatrix();
  T_card_blade.matrix.translation() =
      Eigen::Vector3d(set_up.card_x_mm, set_up.card_y_mm, set_up.edge_height_mm(0.0));
  return T_card_blade;
}

Transform<Camera, Blade> camera_from_blade(const SetUp& set_up) {
  return set_up.T_camera_card * card_from_blade(set_up);
}

CrossSection cross_section(const EdgeScene& scene, double x_mm) {
  const BladeShape& blade = scene.blade;
  CrossSection section;
  section.edge_z_mm = scene.set_up.edge_height_mm(0.0) - scene.set_up.edge_height_mm(x_mm);
  section.left_mm = 0.5 * blade.thickness_mm;
  section.right_mm = -0.5 * blade.thickness_mm;
  section.fillet_left = section.fillet_right = 1.0;
  if (!blade.has_facets()) return section;
  const Side left = facet_side(blade, true, x_mm);
  const Side right = facet_side(blade, false, x_mm);
  section.left_mm = left.border_mm;
  section.right_mm = -right.border_mm;
  section.tan_left = left.tan;
  section.tan_right = right.tan;
  section.fillet_left = left.fillet;
  section.fillet_right = right.fillet;
  return section;
}

Eigen::Vector2d pixel_of(const EdgeScene& scene, const Point<Blade>& p_blade) {
  const Point<Camera> p_camera = camera_from_blade(scene.set_up) * p_blade;
  return lens_pixel(scene.camera, p_camera.mm.head<2>() / p_camera.mm.z());
}

Eigen::Vector2d pixel_of_print(const EdgeScene& scene, const Eigen::Vector2d& nominal_mm) {
  const Point<Card> p_card{
      {nominal_mm.x() * scene.set_up.print_along, nominal_mm.y() * scene.set_up.print_across, 0.0}};
  const Point<Camera> p_camera = scene.set_up.T_camera_card * p_card;
  return lens_pixel(scene.camera, p_camera.mm.head<2>() / p_camera.mm.z());
}

bool clear_of_plunges(const EdgeScene& scene, double x_mm) {
  if (!scene.blade.has_facets()) return true;
  return x_mm >= std::max(fillet_end_mm(scene.blade, true), fillet_end_mm(scene.blade, false));
}

StationTruth truth_at(const EdgeScene& scene, double x_mm) {
  const BladeShape& blade = scene.blade;
  const CrossSection section = cross_section(scene, x_mm);
  const double half = 0.5 * blade.thickness_mm;
  const double z = section.edge_z_mm;
  StationTruth truth;
  truth.x_mm = x_mm;
  truth.offset_mm = blade.offset_mm(x_mm);
  truth.width_mm = blade.has_facets() ? blade.land_width_mm(x_mm) : blade.line_gap_mm;
  truth.left_mm = truth.offset_mm + 0.5 * truth.width_mm;
  truth.right_mm = truth.offset_mm - 0.5 * truth.width_mm;
  double flat_left_z = z + (blade.corner_left.sharp() ? 0.0 : blade.corner_left.down_mm);
  double flat_right_z = z + (blade.corner_right.sharp() ? 0.0 : blade.corner_right.down_mm);
  if (blade.has_facets()) {
    if (clear_of_plunges(scene, x_mm)) {
      truth.facet_left_mm = half - truth.left_mm;
      truth.facet_right_mm = half + truth.right_mm;
    }
    flat_left_z = std::max(flat_left_z, z + (half - section.left_mm) / section.tan_left);
    flat_right_z = std::max(flat_right_z, z + (half + section.right_mm) / section.tan_right);
  }
  truth.middle_px = pixel_of(scene, {{x_mm, truth.offset_mm, z}});
  truth.left_px = pixel_of(scene, {{x_mm, truth.left_mm, z}});
  truth.right_px = pixel_of(scene, {{x_mm, truth.right_mm, z}});
  truth.flat_left_px = pixel_of(scene, {{x_mm, half, flat_left_z}});
  truth.flat_right_px = pixel_of(scene, {{x_mm, -half, flat_right_z}});
  truth.contrast_left = border_contrast(scene, x_mm, true);
  truth.contrast_right = border_contrast(scene, x_mm, false);
  return truth;
}

StationTruth truth_nearest(const EdgeScene& scene, const Eigen::Vector2d& q_px) {
  double x = 0.5 * (scene.blade.x_min_mm + scene.blade.x_max_mm);
  for (int step = 0; step < 6; ++step) {  // a straight scale along the blade: converges at once
    const double h = 0.5;
    const Eigen::Vector2d along =
        (truth_at(scene, x + h).middle_px - truth_at(scene, x - h).middle_px) / (2.0 * h);
    x += (q_px - truth_at(scene, x).middle_px).dot(along) / along.squaredNorm();
  }
  return truth_at(scene, x);
}

}  // namespace evenbevel::test
