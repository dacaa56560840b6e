#include "choil_scene.hpp"

#include <algorithm>
#include <cmath>

#include "evenbevel/units.hpp"
#include "random_scene.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

double radians(double degrees) { return degrees * kPi / 180.0; }

/// Nowhere steeper than the flat, nor undercut: the radius is at least height^2 / (2 rise).
BevelSide random_side(std::mt19937_64& rng, double height_mm, double rise_mm, int shape) {
  BevelSide side;
  side.height_mm = height_mm;
  const double least = height_mm * height_mm / (2.0 * rise_mm);
  if (shape == 1) side.hollow_mm = least * uniform(rng, 1.1, 3.0);
  if (shape == 2) side.convex_mm = least * uniform(rng, 1.1, 3.0);
  return side;
}

SectionShape random_section(std::mt19937_64& rng) {
  SectionShape section;
  section.thickness_mm = uniform(rng, 1.8, 5.0);
  section.spine_mm = uniform(rng, 30.0, 50.0);
  section.land_mm = uniform(rng, 0.08, 0.6);
  section.land_offset_mm = uniform(rng, -0.08, 0.08);
  const double kind = uniform(rng, 0.0, 1.0);
  const int shape = kind < 0.4 ? 0 : kind < 0.75 ? 1 : 2;
  const double least = shape == 1 ? 10.0 : 9.0, most = 0.85 * section.spine_mm;
  const double height = uniform(rng, least, shape == 1 ? std::min(most, 26.0) : most);
  const double rise = 0.5 * (section.thickness_mm - section.land_mm);
  const double offset = section.land_offset_mm;
  section.left = random_side(rng, height, rise - offset, shape);
  section.right = random_side(rng, height * uniform(rng, 0.93, 1.07), rise + offset, shape);
  section.taper_per_mm = chance(rng, 0.5) ? uniform(rng, 0.0, 0.008) : 0.0;
  section.length_mm = uniform(rng, 90.0, 200.0);
  section.belly_from_mm = 0.6 * section.length_mm;
  section.belly_per_mm2 = chance(rng, 0.5) ? 20.0 / std::pow(0.4 * section.length_mm, 2) : 0.0;
  section.draw();
  return section;
}

ChoilPaints random_paints(std::mt19937_64& rng) {
  ChoilPaints paints;
  paints.paper = uniform(rng, 0.3, 0.75);
  paints.end = paints.paper * uniform(rng, 0.04, 0.45);
  const double side = uniform(rng, 0.55, 0.9);  // steel mirrors the paper, seen along it
  paints.left_side = paints.paper * side;
  paints.right_side = paints.paper * side;
  if (chance(rng, 0.25)) {  // or a dark room beside it
    paints.left_side = paints.right_side = paints.end * uniform(rng, 0.2, 0.5);
  }
  paints.land = paints.paper * uniform(rng, 0.4, 0.9);
  paints.jaw = uniform(rng, 0.004, 0.03);
  paints.jaw_top = uniform(rng, 0.03, 0.15);
  paints.white = uniform(rng, 0.15, 0.6);
  paints.black = paints.white * uniform(rng, 0.04, 0.12);
  paints.wall = uniform(rng, 0.05, 0.5);
  paints.paper_slope_y = uniform(rng, -0.01, 0.01);
  paints.paper_slope_down = uniform(rng, -0.006, 0.006);
  paints.end_texture = uniform(rng, 0.0, 0.15);
  return paints;
}

void place(ChoilScene& scene, std::mt19937_64& rng) {
  CameraModel& camera = scene.camera;
  const double px_per_mm = uniform(rng, 16.0, 24.0), distance = uniform(rng, 130.0, 240.0);
  camera.width_px = static_cast<int>(92.0 * px_per_mm);
  camera.height_px = static_cast<int>(118.0 * px_per_mm);
  camera.focal_px.setConstant(px_per_mm * distance);
  camera.centre_px.x() = 0.5 * camera.width_px + uniform(rng, -15.0, 15.0);
  camera.centre_px.y() = 0.5 * camera.height_px + uniform(rng, -15.0, 15.0);
  camera.lens = Lens("pinhole", {uniform(rng, -0.05, 0.08), uniform(rng, -0.1, 0.05),
                                 uniform(rng, -5e-4, 5e-4), uniform(rng, -5e-4, 5e-4), 0.0});
  const Eigen::Vector3d aim(uniform(rng, -1.5, 1.5), -14.0 + uniform(rng, -1.5, 1.5), 0.0);
  // In front of the blade by eye: seldom right along it.
  const Eigen::Vector3d from(uniform(rng, -14.0, 14.0),
                             -scene.edge_down_mm + 14.0 + uniform(rng, -22.0, 6.0), distance);
  scene.T_camera_card = looking_at(aim, from, radians(uniform(rng, -2.0, 2.0)));
}

/// Two tubes overhead: the land mirrors them, a hollow side near its edge, the end hardly.
void light_by_tubes(ChoilScene& scene, std::mt19937_64& rng) {
  ChoilPaints& paints = scene.paints;
  paints.end = paints.paper * uniform(rng, 0.04, 0.3);
  paints.land = paints.paper * uniform(rng, 0.6, 1.5);
  for (double* side : {&paints.left_side, &paints.right_side}) {
    *side = paints.paper * uniform(rng, 0.05, 0.5);
  }
  for (Streak* streak : {&paints.left_streak, &paints.right_streak}) {
    if (!chance(rng, scene.section.left.hollow_mm ? 0.8 : 0.4)) continue;
    *streak = {uniform(rng, -1.0, 6.0), uniform(rng, 0.8, 4.0),
               paints.paper * uniform(rng, 0.5, 1.2), uniform(rng, 0.5, 1.0)};
  }
}

/// A window beside the bench: one side mirrors it, the other a dark room.
void light_by_window(ChoilScene& scene, std::mt19937_64& rng) {
  ChoilPaints& paints = scene.paints;
  const bool on_left = chance(rng, 0.5);
  (on_left ? paints.left_side : paints.right_side) = paints.paper * uniform(rng, 0.5, 1.1);
  (on_left ? paints.right_side : paints.left_side) = paints.paper * uniform(rng, 0.03, 0.3);
  paints.end = paints.paper * uniform(rng, 0.04, 0.5);
  paints.land = paints.paper * uniform(rng, 0.1, 0.9);
}

/// One bulb: a hot spot somewhere along the end, which shades off.
void light_by_bulb(ChoilScene& scene, std::mt19937_64& rng) {
  ChoilPaints& paints = scene.paints;
  paints.end = paints.paper * uniform(rng, 0.03, 0.25);
  paints.end_streak = {uniform(rng, -2.0, 8.0), uniform(rng, 1.5, 5.0),
                       paints.paper * uniform(rng, 0.2, 0.6), uniform(rng, 0.4, 1.0)};
  for (double* side : {&paints.left_side, &paints.right_side}) {
    *side = paints.paper * uniform(rng, 0.04, 0.7);
  }
  paints.land = paints.paper * uniform(rng, 0.05, 0.9);
}

}  // namespace

double SectionShape::at(const std::vector<double>& side, double depth_mm) {
  const double i = depth_mm / kStepMm;
  const auto low = static_cast<std::size_t>(std::max(i, 0.0));
  if (low + 1 >= side.size()) return side.back();
  const double part = i - static_cast<double>(low);
  return side[low] + part * (side[low + 1] - side[low]);
}

std::vector<double> SectionShape::draw_side(const BevelSide& side, double land_border_mm) const {
  const Eigen::Vector2d start(land_border_mm, 0.0), end(0.5 * thickness_mm, side.height_mm);
  const double chord = (end - start).norm();
  const Eigen::Vector2d along = (end - start) / chord, outward(along.y(), -along.x());
  const double radius = side.hollow_mm ? -*side.hollow_mm : side.convex_mm.value_or(0.0);
  const auto arc = [&](double s) -> Eigen::Vector2d {
    const double half = 0.5 * chord, r2 = radius * radius;
    const double height =
        radius == 0.0 ? 0.0 : std::sqrt(r2 - std::pow(s - half, 2)) - std::sqrt(r2 - half * half);
    return start + s * along + (radius < 0.0 ? -height : height) * outward;
  };
  std::vector<double> out;
  double s = 0.0;
  for (double depth = 0.0; depth <= spine_mm; depth += kStepMm) {
    if (depth >= side.height_mm) {
      out.push_back(0.5 * thickness_mm);
      continue;
    }
    for (int step = 0; step < 8; ++step) s += (depth - arc(s).y()) / along.y();
    out.push_back(std::min(arc(s).x(), 0.5 * thickness_mm));
  }
  return out;
}

void SectionShape::draw() {
  left_ = draw_side(left, 0.5 * land_mm + land_offset_mm);
  right_ = draw_side(right, 0.5 * land_mm - land_offset_mm);
}

ChoilRandom random_choil_scene(std::mt19937_64& rng) {
  ChoilRandom out;
  ChoilScene& scene = out.scene;
  scene.section = random_section(rng);
  scene.paints = random_paints(rng);
  scene.edge_y_mm = uniform(rng, -3.0, 3.0);
  // The jaws grip a fifth to a half of the blade's height.
  scene.edge_down_mm = scene.card_bottom_mm - uniform(rng, 0.5, 0.8) * scene.section.spine_mm;
  place(scene, rng);
  scene.lean_rad = radians(0.2) * std::clamp(normal(rng), -2.0, 2.0);
  scene.behind_card_mm = std::clamp(0.4 * normal(rng), -1.0, 1.0);
  scene.end_square_rad = radians(1.0) * std::clamp(normal(rng), -2.0, 2.0);
  scene.jaw_clearance_mm = uniform(rng, 0.0, 0.06);
  scene.aperture_mm = uniform(rng, 1.0, 3.5);
  scene.texture_seed = static_cast<unsigned>(rng() >> 40);
  out.imaging = random_imaging(rng);
  out.imaging.exposure = uniform(rng, 0.8, 1.15);
  return out;
}

ChoilRandom adverse_choil_scene(std::mt19937_64& rng) {
  ChoilRandom out = random_choil_scene(rng);
  ChoilScene& scene = out.scene;
  ChoilPaints& paints = scene.paints;
  const double light = uniform(rng, 0.0, 1.0);
  if (light < 0.45) {
    light_by_tubes(scene, rng);
  } else if (light < 0.75) {
    light_by_window(scene, rng);
  } else {
    light_by_bulb(scene, rng);
  }
  if (chance(rng, 0.25)) {  // along a stretch of it, a side as light as the end
    Streak& streak = chance(rng, 0.5) ? paints.left_streak : paints.right_streak;
    streak = {uniform(rng, 0.0, 10.0), uniform(rng, 1.0, 5.0), paints.end, 1.0};
  }
  if (chance(rng, 0.6)) {
    scene.tang = Tang{uniform(rng, 6.0, 25.0), uniform(rng, 20.0, 80.0)};
    paints.tang_front = paints.paper * uniform(rng, 0.02, 0.3);
    paints.tang_top = paints.paper * uniform(rng, 0.2, 1.3);
    paints.tang_side = paints.paper * uniform(rng, 0.03, 0.6);
  }
  return out;
}

}  // namespace evenbevel::test
