#include "trial.hpp"

#include <algorithm>
#include <cmath>

#include "evenbevel/error.hpp"
#include "evenbevel/units.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

SideBlade finish_blade(std::mt19937_64& rng) {
  SideBlade blade;
  blade.thickness_mm = blade.tip_thickness_mm = uniform(rng, 3.0, 4.5);
  blade.land_mm = uniform(rng, 0.2, 0.5);
  blade.height_mm = uniform(rng, 27.0, 36.0);
  blade.tip_x_mm = uniform(rng, 90.0, 115.0);
  blade.belly_x_mm = uniform(rng, 0.4, 0.7) * blade.tip_x_mm;
  blade.left.bevel_mm = blade.height_mm * uniform(rng, 0.55, 0.78);
  blade.left.plunge_lean_rad = uniform(rng, 0.0, 0.25);
  blade.left.plunge_radius_mm = uniform(rng, 3.0, 7.0);
  blade.left.plunge_x_mm = uniform(rng, -0.5, 0.5);
  blade.right = blade.left;
  return blade;
}

Grain random_grain(std::mt19937_64& rng, double direction) {
  Grain grain;
  grain.direction_rad = direction + uniform(rng, -0.06, 0.06);
  grain.wander_rad = uniform(rng, 0.02, 0.08);
  grain.width_mm = uniform(rng, 0.03, 0.09);
  grain.run_mm = uniform(rng, 3.0, 9.0);
  grain.contrast = uniform(rng, 0.08, 0.22);
  return grain;
}

SidePose finish_pose(std::mt19937_64& rng) {
  SidePose pose;
  pose.card_x_mm = uniform(rng, -8.0, 8.0), pose.card_y_mm = uniform(rng, -5.0, 5.0);
  pose.turn_rad = uniform(rng, -0.04, 0.04);
  pose.distance_mm = uniform(rng, 300.0, 325.0);
  pose.tilt_x_rad = uniform(rng, -0.03, 0.03), pose.tilt_y_rad = uniform(rng, -0.03, 0.03);
  pose.roll_rad = uniform(rng, -0.03, 0.03);
  pose.aside_x_mm = uniform(rng, -10.0, 10.0), pose.aside_y_mm = uniform(rng, -10.0, 10.0);
  return pose;
}

Imaging finish_imaging(std::mt19937_64& rng) {
  Imaging imaging;
  imaging.blur_px = uniform(rng, 0.6, 1.1);
  imaging.read_noise = uniform(rng, 0.001, 0.003);
  imaging.shot_noise = uniform(rng, 0.003, 0.01);
  imaging.sharpen = uniform(rng, 0.0, 0.5);
  if (uniform(rng, 0.0, 1.0) < 0.7) imaging.jpeg = static_cast<int>(uniform(rng, 85.0, 97.0));
  return imaging;
}

/// Dust, hairs, a glinting bevel line: none of them a scratch.
void add_dirt(FinishFace& face, std::mt19937_64& rng) {
  const auto place = [&] {
    return Eigen::Vector2d(uniform(rng, -20.0, 0.9 * face.blade.tip_x_mm),
                           uniform(rng, 2.0, face.blade.height_mm - 2.0));
  };
  for (int i = 0; i < 40; ++i)
    face.specks.push_back({place(), uniform(rng, 0.02, 0.12), uniform(rng, 0.3, 0.9)});
  for (int i = 0; i < 3; ++i) {
    face.fibres.push_back({place(), uniform(rng, 0.0, kPi), uniform(rng, 2.0, 6.0),
                           uniform(rng, 0.1, 0.6), 0.02, uniform(rng, 0.4, 0.8)});
  }
  face.bevel_line_glint = uniform(rng, 0.0, 0.6);
}

struct Scene {
  FinishFace face;
  SidePose pose;
  std::vector<Lamp> lamps;
  std::vector<double> contrasts;  ///< A groove each, in its best photo.
};

/// Blade frame to card frame.
double card_azimuth(const Scene& scene, double azimuth_rad) {
  const SideLie lie = side_lie(scene.face.blade, scene.face.face, scene.pose);
  const Eigen::Vector2d toward = std::cos(azimuth_rad) * lie.along + std::sin(azimuth_rad) * lie.up;
  return std::atan2(toward.y(), toward.x());
}

void add_lamps(Scene& scene, const FinishWish& wish, double grooves_rad, std::mt19937_64& rng) {
  const double first =
      wish.lamps == 1 ? grooves_rad + (wish.lamp_along ? 0.0 : 0.5 * kPi) : uniform(rng, 0.0, kPi);
  const int half_turn = uniform(rng, 0.0, 1.0) < 0.5 ? 0 : 1;
  for (int k = 0; k < wish.lamps; ++k) {
    Lamp lamp;
    lamp.azimuth_rad =
        card_azimuth(scene, first + half_turn * kPi + radians(45.0 * k + uniform(rng, -8.0, 8.0)));
    lamp.elevation_rad = radians(uniform(rng, 16.0, 30.0));
    lamp.distance_mm = uniform(rng, 400.0, 650.0);
    lamp.room = uniform(rng, 0.03, 0.12);
    lamp.seed = static_cast<unsigned>(k + 1);
    scene.lamps.push_back(lamp);
  }
}

bool inside_face(const FinishFace& face, const Eigen::Vector2d& p) {
  constexpr double kMarginMm = 2.0;
  const SideBlade& blade = face.blade;
  return p.x() > blade.handle_x_mm + 3.0 && p.x() < blade.tip_x_mm - 8.0 &&
         p.y() > blade.edge_z(p.x()) + kMarginMm && p.y() < blade.height_mm - kMarginMm;
}

bool on_bevel(const FinishFace& face, const Eigen::Vector2d& p, double margin) {
  return p.y() < face.blade.bevel_z(face.face, p.x()) - margin &&
         p.x() > face.blade.crease_x(face.face, p.y()) + margin;
}

/// Within one surface, so that its ends are seen.
bool fits(const FinishFace& face, const Groove& groove) {
  if (!inside_face(face, groove.from_mm) || !inside_face(face, groove.to_mm)) return false;
  const bool both_on = on_bevel(face, groove.from_mm, 1.2) && on_bevel(face, groove.to_mm, 1.2);
  const bool both_off = !on_bevel(face, groove.from_mm, -1.2) &&
                        !on_bevel(face, groove.to_mm, -1.2) &&
                        !on_bevel(face, 0.5 * (groove.from_mm + groove.to_mm), -1.2);
  return both_on || both_off;
}

/// Apart from the others, so that each is one to count.
bool alone(const FinishFace& face, const Groove& groove) {
  return std::none_of(face.grooves.begin(), face.grooves.end(), [&](const Groove& other) {
    if (between_axes(groove.direction_rad(), other.direction_rad()) > radians(15.0)) return false;
    const Eigen::Vector2d run = (other.to_mm - other.from_mm).normalized();
    for (const Eigen::Vector2d& end : {groove.from_mm, groove.to_mm}) {
      const Eigen::Vector2d d = end - other.from_mm;
      const double t = std::clamp(d.dot(run), -5.0, other.length_mm() + 5.0);
      if ((d - t * run).norm() < 1.0) return true;
    }
    return false;
  });
}

double best_contrast(const Scene& scene, const Groove& groove, double pixel_mm) {
  double best = -1.0;
  for (const Lamp& lamp : scene.lamps) {
    best = std::max(best, FinishLight(scene.face, lamp, scene.pose, pixel_mm).contrast(groove));
  }
  return best;
}

/// With `shine` as it takes for the contrast that is wanted in the best photo.
void set_contrast(const Scene& scene, Groove& groove, double wanted, double pixel_mm) {
  Scene bare = scene;
  bare.face.grooves.clear();
  double low = 0.05, high = 60.0;
  for (int k = 0; k < 30; ++k) {
    groove.shine = std::sqrt(low * high);
    (best_contrast(bare, groove, pixel_mm) < wanted ? low : high) = groove.shine;
  }
}

void add_grooves(Scene& scene, const FinishWish& wish, double cross_rad, std::mt19937_64& rng) {
  const double pixel_mm = scene.pose.distance_mm / 2350.0;
  for (int tries = 0; tries < 4000 && static_cast<int>(scene.face.grooves.size()) < wish.grooves;
       ++tries) {
    Groove groove;
    const Eigen::Vector2d middle(uniform(rng, -25.0, scene.face.blade.tip_x_mm - 8.0),
                                 uniform(rng, 2.0, scene.face.blade.height_mm - 2.0));
    const Grain& grain = on_bevel(scene.face, middle, 0.0) ? scene.face.bevel : scene.face.flat;
    const double direction = grain.direction_rad + cross_rad + uniform(rng, -0.08, 0.08);
    if (between_axes(direction, grain.direction_rad) < radians(wish.least_cross_deg)) continue;
    const Eigen::Vector2d half =
        0.5 * uniform(rng, 3.0, 14.0) * Eigen::Vector2d(std::cos(direction), std::sin(direction));
    groove.from_mm = middle - half, groove.to_mm = middle + half;
    groove.width_mm = uniform(rng, wish.least_px, wish.most_px) * pixel_mm;
    groove.depth_mm = groove.width_mm * uniform(rng, 0.16, 0.24);
    groove.spread = uniform(rng, 0.2, 0.3);
    groove.seed = static_cast<unsigned>(rng());
    if (!fits(scene.face, groove) || !alone(scene.face, groove)) continue;
    const double wanted = uniform(rng, wish.least_contrast, wish.most_contrast);
    if (!wish.lamp_along) {
      set_contrast(scene, groove, wanted, pixel_mm);
    } else {
      groove.shine = 3.0;
    }
    scene.face.grooves.push_back(groove);
    scene.contrasts.push_back(best_contrast(scene, groove, pixel_mm));
  }
}

Scene random_finish_scene(const FinishWish& wish, std::mt19937_64& rng) {
  Scene scene;
  scene.face.blade = finish_blade(rng);
  scene.face.face = uniform(rng, 0.0, 1.0) < 0.5 ? Face::left : Face::right;
  scene.face.seed = static_cast<unsigned>(rng());
  const double lay = uniform(rng, 0.0, 1.0) < 0.5 ? uniform(rng, 0.0, 0.3) : uniform(rng, 1.3, 1.8);
  scene.face.bevel = random_grain(rng, lay), scene.face.flat = random_grain(rng, lay);
  scene.pose = finish_pose(rng);
  add_dirt(scene.face, rng);
  const double sign = uniform(rng, 0.0, 1.0) < 0.5 ? -1.0 : 1.0;
  const double cross =
      sign * radians(uniform(rng, wish.least_cross_deg + 4.0, wish.most_cross_deg - 4.0));
  add_lamps(scene, wish, lay + cross, rng);
  add_grooves(scene, wish, cross, rng);
  return scene;
}

/// Length of a groove that a found one covers; 0: they are not the same.
double common_mm(const Groove& groove, const FoundScratch& found, double zero_mm) {
  if (between_axes(groove.direction_rad(), found.direction_rad) > radians(10.0)) return 0.0;
  const Eigen::Vector2d shift(zero_mm, 0.0);
  const Eigen::Vector2d run = (groove.to_mm - groove.from_mm).normalized();
  const Eigen::Vector2d a = found.from_mm + shift - groove.from_mm;
  const Eigen::Vector2d b = found.to_mm + shift - groove.from_mm;
  const Eigen::Vector2d across(-run.y(), run.x());
  if (std::abs(0.5 * (a + b).dot(across)) > 0.6) return 0.0;
  const double low = std::min(a.dot(run), b.dot(run)), high = std::max(a.dot(run), b.dot(run));
  return std::max(0.0, std::min(high, groove.length_mm()) - std::max(low, 0.0));
}

double worse_end(const Groove& groove, const FoundScratch& found, double zero_mm) {
  const Eigen::Vector2d shift(zero_mm, 0.0);
  const Eigen::Vector2d a = found.from_mm + shift, b = found.to_mm + shift;
  const double straight = std::max((a - groove.from_mm).norm(), (b - groove.to_mm).norm());
  const double crossed = std::max((b - groove.from_mm).norm(), (a - groove.to_mm).norm());
  return std::min(straight, crossed);
}

double signed_turn(double found, double truth) {
  const double off = axis_of(found - truth);
  return degrees(off > 0.5 * kPi ? off - kPi : off);
}

GrooveFate fate_of(const Groove& groove, const Scene& scene, double contrast,
                   const FinishFaceResult& result, double zero_mm) {
  GrooveFate fate;
  const double pixel_mm = scene.pose.distance_mm / 2350.0;
  const bool bevel = on_bevel(scene.face, 0.5 * (groove.from_mm + groove.to_mm), 0.0);
  const Grain& grain = bevel ? scene.face.bevel : scene.face.flat;
  fate.width_px = groove.width_mm / pixel_mm, fate.contrast = contrast;
  fate.cross_deg = degrees(between_axes(groove.direction_rad(), grain.direction_rad));
  fate.length_mm = groove.length_mm();
  double covered = 0.0;
  int pieces = 0;
  for (const FoundScratch& found : result.scratches) {
    const double common = common_mm(groove, found, zero_mm);
    if (common <= 0.0) continue;
    covered += common, ++pieces;
    fate.direction_error_deg = signed_turn(found.direction_rad, groove.direction_rad());
    fate.ends_error_mm = worse_end(groove, found, zero_mm);
  }
  fate.found = covered > 0.5 * groove.length_mm();
  if (pieces != 1) fate.ends_error_mm.reset();
  return fate;
}

void compare(const Scene& scene, FinishTrial& trial) {
  const FinishFaceResult& result = trial.result.faces.front();
  const double zero = scene.face.blade.handle_x_mm;
  for (std::size_t i = 0; i < scene.face.grooves.size(); ++i) {
    trial.grooves.push_back(
        fate_of(scene.face.grooves[i], scene, scene.contrasts[i], result, zero));
  }
  for (const FoundScratch& found : result.scratches) {
    const bool true_one = std::any_of(
        scene.face.grooves.begin(), scene.face.grooves.end(), [&](const Groove& groove) {
          return common_mm(groove, found, zero) > 0.5 * found.length_mm;
        });
    trial.false_ones += true_one ? 0 : 1;
  }
  trial.found = static_cast<int>(result.scratches.size());
  trial.area_cm2 = result.density.area_cm2;
  const auto truth = static_cast<double>(scene.face.grooves.size());
  trial.count_low = result.density.per_cm2.low * trial.area_cm2;
  trial.count_high = result.density.per_cm2.high * trial.area_cm2;
  trial.count_holds = truth >= trial.count_low - 1e-9 && truth <= trial.count_high + 1e-9;
  for (std::size_t i = 0; i < result.lamps.size(); ++i) {
    const auto& azimuth = result.lamps[i].azimuth_rad;
    const double off =
        azimuth
            ? std::remainder(card_azimuth(scene, *azimuth) - scene.lamps[i].azimuth_rad, 2.0 * kPi)
            : kPi;
    trial.lamp_error_deg.push_back(degrees(off));
  }
  for (const Lay& lay : result.lays) {
    if (!lay.direction_rad) continue;
    const Grain& grain = lay.surface == "bevel" ? scene.face.bevel : scene.face.flat;
    const double error = std::abs(signed_turn(*lay.direction_rad, grain.direction_rad));
    trial.lay_error_deg = std::max(trial.lay_error_deg.value_or(0.0), error);
  }
}

}  // namespace

FinishTrial run_finish_trial(const char* suite, int number, const FinishWish& wish) {
  std::mt19937_64 rng = seeded(suite, number);
  FinishTrial trial;
  trial.number = number;
  const Scene scene = random_finish_scene(wish, rng);
  const Imaging imaging = finish_imaging(rng);
  for (const Lamp& lamp : scene.lamps) {
    trial.pictures.push_back(
        take_finish_photo(scene.face, lamp, scene.pose, imaging, uniform(rng, 0.8, 1.1), rng));
  }
  std::vector<FinishPhoto> photos;
  for (const SidePicture& picture : trial.pictures) {
    photos.push_back({scene.face.face, &picture.photo, &picture.camera});
  }
  trial.face = scene.face;
  try {
    trial.result = finish_view(photos, {.thickness_mm = scene.face.blade.thickness_mm});
    compare(scene, trial);
  } catch (const Error& e) {
    trial.refused = e.what();
  }
  return trial;
}

}  // namespace evenbevel::test
