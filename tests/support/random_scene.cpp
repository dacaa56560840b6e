#include "random_scene.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/Geometry>

#include "evenbevel/units.hpp"
#include "random_light.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

Facet random_facet(SceneStage stage, double plunge_mm, std::mt19937_64& rng) {
  Facet facet;
  facet.angle_rad = radians(uniform(rng, 41.0, 49.0));
  facet.bevel_height_mm = uniform(rng, 14.0, 28.0);
  facet.plunge.x_mm = plunge_mm;
  facet.plunge.radius_mm =
      stage == SceneStage::bevelled ? uniform(rng, 4.0, 7.0) : uniform(rng, 3.0, 5.0);
  return facet;
}

/// Broken by file, stone or not at all, each corner by itself.
Corner random_corner(std::mt19937_64& rng) {
  if (chance(rng, 0.2)) return {0.0, 0.0};
  return {uniform(rng, 0.0, 0.05), uniform(rng, 0.0, 0.05)};
}

BladeShape random_blade(SceneStage stage, std::mt19937_64& rng) {
  BladeShape blade;
  blade.stage = stage;
  blade.thickness_mm = uniform(rng, 2.8, 4.6);
  blade.offset_mm = {.at_zero = uniform(rng, -0.12, 0.12),
                     .slope = uniform(rng, -4e-4, 4e-4),
                     .ripple = uniform(rng, 0.0, 0.012),
                     .period_mm = uniform(rng, 40.0, 90.0),
                     .phase_rad = uniform(rng, 0.0, 2.0 * kPi)};
  blade.corner_left = random_corner(rng);
  blade.corner_right = random_corner(rng);
  blade.line_gap_mm = uniform(rng, 0.25, 0.5);
  blade.line_width_mm = uniform(rng, 0.03, 0.06);
  blade.line_roughness_mm = uniform(rng, 0.0, 0.004);
  blade.land_width_mm = {
      .at_zero = stage == SceneStage::bevelled ? uniform(rng, 0.3, 0.7) : uniform(rng, 0.2, 0.6),
      .slope = uniform(rng, -5e-4, 5e-4)};
  const double mismatch = uniform(rng, -1.5, 1.5);
  blade.left = random_facet(stage, 0.5 * mismatch, rng);
  blade.right = random_facet(stage, -0.5 * mismatch, rng);
  if (blade.has_facets() && chance(rng, 0.3)) {
    blade.burr = {.width_mm = uniform(rng, 0.01, 0.04),
                  .left = chance(rng, 0.5),
                  .stretch_mm = uniform(rng, 6.0, 40.0)};
  }
  return blade;
}

CameraModel random_camera(double distance_mm, double px_per_mm, std::mt19937_64& rng) {
  CameraModel camera;
  camera.width_px = 2400;
  // The card's markers and a row of its usable corners, 21 mm to either side, must be in view.
  camera.height_px = std::clamp(2 * static_cast<int>(29.0 * px_per_mm), 960, 1280);
  camera.focal_px.setConstant(distance_mm * px_per_mm);
  camera.centre_px.x() = 0.5 * (camera.width_px - 1) + uniform(rng, -12.0, 12.0);
  camera.centre_px.y() = 0.5 * (camera.height_px - 1) + uniform(rng, -12.0, 12.0);
  camera.lens = Lens("pinhole", {uniform(rng, -0.1, 0.1), uniform(rng, -0.08, 0.08),
                                 uniform(rng, -5e-4, 5e-4), uniform(rng, -5e-4, 5e-4), 0.0});
  return camera;
}

/// A third as cameras far away or of few pixels give it, the rest as phones do.
double random_px_per_mm(std::mt19937_64& rng) {
  const double share = uniform(rng, 0.0, 1.0);
  if (share < 0.2) return uniform(rng, 8.0, 12.0);
  return share < 0.5 ? uniform(rng, 12.0, 15.0) : uniform(rng, 15.0, 22.0);
}

/// Which stretch of the blade the picture shows, and so which of its ends.
/// @return  The middle of the stretch, blade frame.
double choose_stretch(BladeShape& blade, double seen_mm, std::mt19937_64& rng) {
  const double kind = uniform(rng, 0.0, 1.0);
  blade.x_min_mm = -uniform(rng, 16.0, 28.0);
  double from = blade.x_min_mm - uniform(rng, 4.0, 18.0);  // the heel's end in view
  const double unseen = blade.stage == SceneStage::bevelled ? 0.95 : 0.86;
  if (kind > unseen) {  // the picture begins beyond the plunge lines
    from = uniform(rng, 6.0, 20.0);
  } else if (kind > 0.72) {  // within the ricasso
    from = -uniform(rng, 4.0, 12.0);
  } else if (kind > 0.6) {  // a short ricasso
    blade.x_min_mm = -uniform(rng, 5.0, 8.0);
    from = blade.x_min_mm - uniform(rng, 4.0, 18.0);
  }
  const double to = from + seen_mm;
  const double end = chance(rng, 0.6) ? to - uniform(rng, 4.0, 18.0) : to + uniform(rng, 4.0, 30.0);
  blade.x_max_mm = std::min(end, uniform(rng, 110.0, 160.0));
  return std::min(0.5 * (from + to), 0.5 * (from + blade.x_max_mm + 12.0));
}

/// Side-on place of a camera held over the edge by eye, or less carefully.
double random_beside(std::mt19937_64& rng) {
  if (chance(rng, 0.5)) return uniform(rng, -15.0, 15.0);
  return std::clamp(5.0 * normal(rng), -14.0, 14.0);
}

Jaw random_jaw_place(std::mt19937_64& rng) {
  Jaw jaw;
  if (chance(rng, 0.3)) jaw.gap_mm = uniform(rng, 0.05, 1.2);
  return jaw;
}

void set_up_bench(EdgeScene& scene, std::mt19937_64& rng) {
  SetUp& set_up = scene.set_up;
  const BladeShape& blade = scene.blade;
  // Makers leave the facets' shoulders clear of the jaws.
  const double lowest = blade.stage == SceneStage::ground ? 0.62 * blade.thickness_mm + 1.2 : 2.6;
  set_up.edge_height_mm = {.at_zero = uniform(rng, lowest, 10.0),
                           .slope = uniform(rng, -0.006, 0.006),
                           .bow = uniform(rng, -4e-5, 2e-5)};
  set_up.tip_left = chance(rng, 0.5);
  set_up.in_plane_rad = radians(uniform(rng, -1.0, 1.0));
  set_up.jaw_tilt_rad = 0.0017 * normal(rng);
  set_up.print_along = 1.0 + 0.002 * normal(rng);
  set_up.print_across = 1.0 + 0.002 * normal(rng);
  set_up.card_thickness_mm = uniform(rng, 0.2, 0.8);
  set_up.card_y_mm = uniform(rng, -0.5, 0.5);
  set_up.slot_half_width_mm = 0.5 * blade.thickness_mm + uniform(rng, 1.2, 2.6);
  set_up.jaw_left = random_jaw_place(rng);
  set_up.jaw_right = random_jaw_place(rng);
  if (chance(rng, 0.08)) (chance(rng, 0.5) ? set_up.jaw_left : set_up.jaw_right).there = false;
}

void place(EdgeScene& scene, std::mt19937_64& rng) {
  const double px_per_mm = random_px_per_mm(rng);
  constexpr double kLongestLens = 4600.0;  // px: twice what a phone's own lens has
  const double distance = uniform(rng, 170.0, std::min(340.0, kLongestLens / px_per_mm));
  scene.camera = random_camera(distance, px_per_mm, rng);
  const double middle = choose_stretch(scene.blade, scene.camera.width_px / px_per_mm, rng);
  set_up_bench(scene, rng);
  SetUp& set_up = scene.set_up;
  Eigen::Vector3d aim(uniform(rng, -12.0, 12.0), uniform(rng, -3.0, 3.0), 0.0);
  const double to_tip = set_up.tip_left ? -1.0 : 1.0;
  const double left_end =
      set_up.tip_left ? middle - scene.blade.x_max_mm : scene.blade.x_min_mm - middle;
  aim.x() = std::max(aim.x(), set_up.slot_x_min_mm + 3.0 - left_end);  // the slot has an end there
  set_up.card_x_mm = aim.x() - to_tip * middle;
  const Eigen::Vector3d from(uniform(rng, -18.0, 18.0),
                             set_up.card_y_mm + random_beside(rng) - aim.y(),
                             distance + set_up.edge_height_mm.at_zero);
  const double roll = radians(uniform(rng, -3.0, 3.0)) + (chance(rng, 0.3) ? kPi : 0.0);
  set_up.T_camera_card = looking_at(aim, from, roll);
}

void add_texture(EdgeScene& scene, std::mt19937_64& rng) {
  scene.face_texture = {
      .across = 0.0, .along = uniform(rng, 0.01, 0.06), .slow = uniform(rng, 0.0, 0.06)};
  scene.facet_texture = {.across = uniform(rng, 0.01, 0.12),
                         .across_mm = uniform(rng, 0.06, 0.25),
                         .slow = uniform(rng, 0.0, 0.08)};
  scene.land_texture = {.across = uniform(rng, 0.0, 0.04),
                        .across_mm = uniform(rng, 0.1, 0.4),
                        .along = uniform(rng, 0.01, 0.06),
                        .along_mm = uniform(rng, 0.05, 0.12),
                        .slow = uniform(rng, 0.0, 0.05)};
  // A scriber skips and digs in: its line glints by stretches.
  scene.line_texture = {.across = uniform(rng, 0.0, 0.2),
                        .across_mm = uniform(rng, 0.2, 0.5),
                        .slow = uniform(rng, 0.0, 0.35),
                        .slow_mm = uniform(rng, 6.0, 20.0)};
  scene.jaw_texture = {.along = uniform(rng, 0.0, 0.15), .along_mm = 0.12};
  scene.texture_seed = static_cast<unsigned>(rng() >> 40);
}

void add_marks(EdgeScene& scene, std::mt19937_64& rng) {
  const double from = scene.blade.x_min_mm, to = scene.blade.x_max_mm;
  const int scratches = static_cast<int>(uniform(rng, 0.0, 5.0));
  for (int i = 0; i < scratches; ++i) {
    scene.scratches.push_back(
        {.x_mm = uniform(rng, from, to),
         .lean = uniform(rng, -0.6, 0.6),
         .width_mm = uniform(rng, 0.02, 0.08),
         .level = chance(rng, 0.5) ? uniform(rng, 0.3, 0.8) : uniform(rng, 1.2, 1.8)});
  }
  const double half = 0.5 * scene.blade.thickness_mm;
  const int specks = static_cast<int>(uniform(rng, 0.0, 7.0));
  for (int i = 0; i < specks; ++i) {
    scene.specks.push_back(
        {.x_mm = uniform(rng, from, to),
         .y_mm = uniform(rng, -half, half),
         .radius_mm = uniform(rng, 0.03, 0.15),
         .level = chance(rng, 0.6) ? uniform(rng, 0.2, 0.7) : uniform(rng, 1.2, 2.0)});
  }
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
  const auto kind = static_cast<LightKind>(static_cast<int>(uniform(rng, 0.0, 4.0)));
  return random_edge_scene(stage, kind, rng);
}

EdgeScene random_edge_scene(SceneStage stage, LightKind light, std::mt19937_64& rng) {
  EdgeScene scene;
  scene.blade = random_blade(stage, rng);
  place(scene, rng);
  scene.lighting = random_lighting(light, rng);
  random_finish(scene, rng);
  perhaps_weak_land(scene, rng);
  deepen_lines(scene, rng);
  set_exposure(scene, rng);
  add_texture(scene, rng);
  add_marks(scene, rng);
  scene.light_slope_x = uniform(rng, -0.08, 0.08);
  scene.light_slope_y = uniform(rng, -0.08, 0.08);
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
  if (chance(rng, 0.25)) {
    imaging.phone = PhoneChain{.lateral_px = uniform(rng, -0.5, 0.5),
                               .follow_edges = chance(rng, 0.5),
                               .denoise = uniform(rng, 0.01, 0.04),
                               .local_tone = uniform(rng, 0.0, 0.25)};
    imaging.sharpen = uniform(rng, 0.5, 1.2);
  }
  if (imaging.phone || chance(rng, 0.6)) imaging.jpeg = static_cast<int>(uniform(rng, 84.0, 97.0));
  return imaging;
}

}  // namespace evenbevel::test
