#include "random_scene.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/Geometry>

#include "evenbevel/units.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

bool chance(std::mt19937_64& rng, double probability) {
  return uniform(rng, 0.0, 1.0) < probability;
}

Paint scaled(const Paint& paint, double by) {
  const auto s = static_cast<float>(by);
  return {paint.b * s, paint.g * s, paint.r * s};
}

Facet random_facet(SceneStage stage, double plunge_mm, std::mt19937_64& rng) {
  Facet facet;
  facet.angle_rad = radians(uniform(rng, 41.0, 49.0));
  facet.bevel_height_mm = uniform(rng, 14.0, 28.0);
  facet.plunge.x_mm = plunge_mm;
  facet.plunge.radius_mm =
      stage == SceneStage::bevelled ? uniform(rng, 4.0, 7.0) : uniform(rng, 3.0, 5.0);
  return facet;
}

BladeShape random_blade(SceneStage stage, std::mt19937_64& rng) {
  BladeShape blade;
  blade.stage = stage;
  blade.thickness_mm = uniform(rng, 2.3, 4.2);
  blade.offset_mm = {.at_zero = uniform(rng, -0.08, 0.08),
                     .slope = uniform(rng, -3e-4, 3e-4),
                     .ripple = uniform(rng, 0.0, 0.012),
                     .period_mm = uniform(rng, 40.0, 90.0),
                     .phase_rad = uniform(rng, 0.0, 2.0 * kPi)};
  blade.chamfer_mm = chance(rng, 0.25) ? 0.0 : uniform(rng, 0.015, 0.05);
  blade.line_gap_mm = uniform(rng, 0.25, 0.5);
  blade.line_width_mm = uniform(rng, 0.03, 0.06);
  blade.line_roughness_mm = uniform(rng, 0.0, 0.004);
  blade.land_width_mm = {
      .at_zero = stage == SceneStage::bevelled ? uniform(rng, 0.3, 0.7) : uniform(rng, 0.2, 0.6),
      .slope = uniform(rng, -5e-4, 5e-4)};
  const double mismatch = uniform(rng, -1.5, 1.5);
  blade.left = random_facet(stage, 0.5 * mismatch, rng);
  blade.right = random_facet(stage, -0.5 * mismatch, rng);
  return blade;
}

/// Darker or brighter than its surroundings, never alike: 15 % at least.
double contrasting(double level, std::mt19937_64& rng) {
  return level * (chance(rng, 0.5) ? uniform(rng, 0.4, 0.85) : uniform(rng, 1.18, 1.8));
}

/// The camera has set its exposure by the picture: the brightest steel lies between the middle of
/// its range and just above the end.
void expose_steel(Paints& paints, std::mt19937_64& rng) {
  Paint* const steel[] = {&paints.face,         &paints.line_left,    &paints.line_right,
                          &paints.land,         &paints.facet_left,   &paints.facet_right,
                          &paints.fillet_left,  &paints.fillet_right, &paints.chamfer_left,
                          &paints.chamfer_right};
  float brightest = 0.0F;
  for (const Paint* paint : steel) brightest = std::max(brightest, paint->g);
  const double wanted = uniform(rng, 0.5, 1.05);
  for (Paint* paint : steel) *paint = scaled(*paint, wanted / brightest);
}

Paints random_paints(SceneStage stage, std::mt19937_64& rng) {
  Paints paints;
  const double steel = uniform(rng, 0.22, 0.45);
  paints.face = grey_paint(steel);
  if (stage == SceneStage::scribed_dye) {
    paints.face = scaled({0.26F, 0.08F, 0.035F}, uniform(rng, 0.7, 1.4));
    paints.line_left = grey_paint(uniform(rng, 0.4, 0.8));
    paints.line_right = grey_paint(uniform(rng, 0.4, 0.8));
  } else {
    const bool bright = chance(rng, 0.5);
    const double low = bright ? 1.6 : 0.3;
    const double high = bright ? 2.2 : 0.6;
    paints.line_left = grey_paint(steel * uniform(rng, low, high));
    paints.line_right = grey_paint(steel * uniform(rng, low, high));
  }
  const double facet = uniform(rng, 0.3, 0.75);
  const bool dark_bevels = stage == SceneStage::bevelled;  // steep: they mirror the dark jaws
  const double facet_left = dark_bevels ? 0.1 * facet : facet;
  const double facet_right = facet_left * uniform(rng, 0.8, 1.25);
  paints.facet_left = grey_paint(facet_left);
  paints.facet_right = grey_paint(facet_right);
  paints.fillet_left = grey_paint(facet_left * uniform(rng, 0.8, 1.6));
  paints.fillet_right = grey_paint(facet_right * uniform(rng, 0.8, 1.6));
  const double between = 0.5 * (facet_left + facet_right);
  paints.land = dark_bevels ? grey_paint(steel) : grey_paint(contrasting(between, rng));
  const double chamfer = uniform(rng, 0.1, 0.8);  // lights stand on both sides, not quite alike
  paints.chamfer_left = grey_paint(chamfer * uniform(rng, 0.7, 1.4));
  paints.chamfer_right = grey_paint(chamfer * uniform(rng, 0.7, 1.4));
  const double jaw = uniform(rng, 0.03, 0.08);
  paints.jaw = grey_paint(jaw);
  // Seen at a grazing angle, the flats mirror the jaws' tops.
  const double flat = jaw * uniform(rng, 0.7, 1.8);
  paints.flat_left = grey_paint(flat * uniform(rng, 0.8, 1.25));
  paints.flat_right = grey_paint(flat * uniform(rng, 0.8, 1.25));
  expose_steel(paints, rng);
  return paints;
}

CameraModel random_camera(double distance_mm, double px_per_mm, std::mt19937_64& rng) {
  CameraModel camera;
  camera.width_px = 2400;
  camera.height_px = 960;
  camera.fx_px = camera.fy_px = distance_mm * px_per_mm;
  camera.cx_px = 1199.5 + uniform(rng, -12.0, 12.0);
  camera.cy_px = 479.5 + uniform(rng, -12.0, 12.0);
  camera.distortion = {uniform(rng, -0.1, 0.1), uniform(rng, -0.08, 0.08),
                       uniform(rng, -5e-4, 5e-4), uniform(rng, -5e-4, 5e-4), 0.0};
  return camera;
}

void place(EdgeScene& scene, std::mt19937_64& rng) {
  const double px_per_mm = uniform(rng, 11.0, 15.0);
  const double distance = uniform(rng, 190.0, 340.0);
  scene.camera = random_camera(distance, px_per_mm, rng);
  BladeShape& blade = scene.blade;
  const double seen_mm = scene.camera.width_px / px_per_mm;
  blade.x_min_mm = -uniform(rng, 16.0, 28.0);
  blade.x_max_mm = blade.x_min_mm + std::min(seen_mm - 30.0, uniform(rng, 100.0, 150.0));
  SetUp& set_up = scene.set_up;
  set_up.edge_height_mm = {.at_zero = uniform(rng, 3.0, 8.0),
                           .slope = uniform(rng, -0.008, 0.008),
                           .bow = uniform(rng, -8e-5, 2e-5)};
  set_up.tip_left = chance(rng, 0.5);
  set_up.in_plane_rad = radians(uniform(rng, -1.0, 1.0));
  set_up.jaw_tilt_rad = 0.0017 * normal(rng);
  set_up.print_along = 1.0 + 0.002 * normal(rng);
  set_up.print_across = 1.0 + 0.002 * normal(rng);
  set_up.card_thickness_mm = uniform(rng, 0.2, 0.8);
  const Eigen::Vector3d aim(uniform(rng, -12.0, 12.0), uniform(rng, -2.0, 2.0), 0.0);
  const double middle = 0.5 * (blade.x_min_mm + blade.x_max_mm);
  set_up.card_x_mm = aim.x() + uniform(rng, -4.0, 4.0) + (set_up.tip_left ? middle : -middle);
  set_up.card_y_mm = uniform(rng, -0.5, 0.5);
  const double beside = std::clamp(6.0 * normal(rng), -14.0, 14.0);  // by eye, over the edge
  const Eigen::Vector3d from(uniform(rng, -18.0, 18.0), beside,
                             distance + set_up.edge_height_mm.at_zero);
  const double roll = radians(uniform(rng, -3.0, 3.0)) + (chance(rng, 0.3) ? kPi : 0.0);
  set_up.T_camera_card = looking_at(aim, from, roll);
}

}  // namespace

Transform<Camera, Card> looking_at(const Eigen::Vector3d& aim_mm, const Eigen::Vector3d& from_mm,
                                   double roll_rad) {
  const Eigen::Vector3d forward = -from_mm.normalized();
  const Eigen::Vector3d wish(std::cos(roll_rad), std::sin(roll_rad), 0.0);
  const Eigen::Vector3d right = (wish - wish.dot(forward) * forward).normalized();
  Transform<Camera, Card> T_camera_card;
  T_camera_card.matrix.linear().row(0) = right;
  T_camera_card.matrix.linear().row(1) = forward.cross(right);
  T_camera_card.matrix.linear().row(2) = forward;
  T_camera_card.matrix.translation() = -T_camera_card.matrix.linear() * (aim_mm + from_mm);
  return T_camera_card;
}

EdgeScene random_edge_scene(SceneStage stage, std::mt19937_64& rng) {
  EdgeScene scene;
  scene.blade = random_blade(stage, rng);
  scene.paints = random_paints(stage, rng);
  place(scene, rng);
  scene.face_texture = {
      .across = 0.0, .along = uniform(rng, 0.01, 0.05), .slow = uniform(rng, 0.0, 0.08)};
  scene.facet_texture = {.across = uniform(rng, 0.01, 0.08),
                         .across_mm = uniform(rng, 0.06, 0.25),
                         .slow = uniform(rng, 0.0, 0.1)};
  scene.land_texture = {.across = uniform(rng, 0.01, 0.1),
                        .across_mm = uniform(rng, 0.1, 0.4),
                        .slow = uniform(rng, 0.0, 0.05)};
  scene.light_slope_x = uniform(rng, -0.2, 0.2);
  scene.light_slope_y = uniform(rng, -0.2, 0.2);
  scene.texture_seed = static_cast<unsigned>(rng() >> 40);
  return scene;
}

Imaging random_imaging(std::mt19937_64& rng) {
  Imaging imaging;
  imaging.blur_px = uniform(rng, 0.6, 1.2);
  imaging.exposure = uniform(rng, 0.9, 1.05);
  imaging.read_noise = uniform(rng, 0.001, 0.003);
  imaging.shot_noise = uniform(rng, 0.004, 0.012);
  imaging.sharpen = chance(rng, 0.5) ? uniform(rng, 0.2, 0.6) : 0.0;
  imaging.sharpen_px = uniform(rng, 0.9, 1.5);
  if (chance(rng, 0.6)) imaging.jpeg = static_cast<int>(uniform(rng, 86.0, 97.0));
  return imaging;
}

}  // namespace evenbevel::test
