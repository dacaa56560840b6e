#include "random_light.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "evenbevel/units.hpp"
#include "seeded.hpp"
#include "shading.hpp"

namespace evenbevel::test {
namespace {

/// Place seen from the card's middle: azimuth from the card's +x toward its +y.
Eigen::Vector3d from_middle(double azimuth_rad, double elevation_rad, double distance_mm) {
  return distance_mm * Eigen::Vector3d(std::cos(elevation_rad) * std::cos(azimuth_rad),
                                       std::cos(elevation_rad) * std::sin(azimuth_rad),
                                       std::sin(elevation_rad));
}

/// Strength at 1 m of a lamp that gives `level` at the card.
Paint strength_for(const Eigen::Vector3d& place_mm, double level, const Paint& colour) {
  return colour * (level * place_mm.squaredNorm() / 1e6);
}

Paint random_tint(double warmth, std::mt19937_64& rng) {
  const double b = 1.0 - warmth * uniform(rng, 0.5, 1.0);
  const double r = 1.0 + 0.5 * warmth * uniform(rng, 0.5, 1.0);
  return {static_cast<float>(b), 1.0F, static_cast<float>(r)};
}

Surroundings random_surroundings(double level, std::mt19937_64& rng) {
  Surroundings around;
  around.above = random_tint(uniform(rng, -0.15, 0.15), rng) * (level * uniform(rng, 0.5, 1.5));
  around.level = random_tint(uniform(rng, -0.15, 0.2), rng) * (level * uniform(rng, 0.1, 0.9));
  around.phone = uniform(rng, 0.2, 0.9);
  return around;
}

Glow window(double side, double level, std::mt19937_64& rng) {
  Glow glow;
  const double azimuth = side * (0.5 * kPi + radians(uniform(rng, -30.0, 30.0)));
  glow.place_mm =
      from_middle(azimuth, radians(uniform(rng, 8.0, 50.0)), uniform(rng, 900.0, 2200.0));
  glow.radius_mm = glow.place_mm.norm() * uniform(rng, 0.15, 0.35);
  glow.strength = strength_for(glow.place_mm, level, random_tint(uniform(rng, -0.2, 0.1), rng));
  return glow;
}

void add_bulb(Lighting& lighting, std::mt19937_64& rng) {
  Glow glow;
  const bool along = chance(rng, 0.4);  // the highlight then travels along the blade
  const double azimuth =
      along ? kPi * (chance(rng, 0.5) ? 1.0 : 0.0) + radians(uniform(rng, -30.0, 30.0))
            : uniform(rng, -kPi, kPi);
  const double elevation = radians(uniform(rng, along ? 45.0 : 20.0, 82.0));
  glow.place_mm = from_middle(azimuth, elevation, uniform(rng, 300.0, 1000.0));
  glow.radius_mm = uniform(rng, 15.0, 40.0);
  glow.strength = strength_for(glow.place_mm, 1.0, random_tint(uniform(rng, 0.0, 0.4), rng));
  lighting.glows.push_back(glow);
}

/// Two tubes under the ceiling, each as a row of patches.
void add_tubes(Lighting& lighting, std::mt19937_64& rng) {
  constexpr int kPieces = 6;
  const double length = 1200.0;
  const double height = uniform(rng, 1000.0, 1900.0);
  const double turn = (chance(rng, 0.5) ? 0.5 * kPi : 0.0) + radians(uniform(rng, -8.0, 8.0));
  const Eigen::Vector3d direction(std::cos(turn), std::sin(turn), 0.0);
  const Eigen::Vector3d beside(-std::sin(turn), std::cos(turn), 0.0);
  const double apart = uniform(rng, 100.0, 900.0);
  const Eigen::Vector3d middle(uniform(rng, -400.0, 400.0), uniform(rng, -700.0, 700.0), height);
  const Paint tint = random_tint(uniform(rng, -0.1, 0.15), rng);
  for (const double tube : {-0.5, 0.5}) {
    for (int i = 0; i < kPieces; ++i) {
      Glow glow;
      glow.place_mm =
          middle + tube * apart * beside + length * ((i + 0.5) / kPieces - 0.5) * direction;
      glow.radius_mm = 0.5 * length / kPieces;
      glow.strength = strength_for(glow.place_mm, 0.5 / kPieces, tint);
      lighting.glows.push_back(glow);
    }
  }
}

Paint dye(std::mt19937_64& rng) { return Paint{0.26F, 0.08F, 0.035F} * uniform(rng, 0.8, 1.8); }

/// From black to brighter than the steel.
double random_jaw(std::mt19937_64& rng) { return 0.02 * std::pow(35.0, uniform(rng, 0.0, 1.0)); }

std::vector<double> places_along(const EdgeScene& scene) {
  const double from = std::max(scene.blade.x_min_mm, 2.0);
  std::vector<double> places;
  for (int i = 1; i < 12; ++i) places.push_back(from + (scene.blade.x_max_mm - from) * i / 12.0);
  return places;
}

}  // namespace

Lighting random_lighting(LightKind kind, std::mt19937_64& rng) {
  Lighting lighting;
  lighting.kind = kind;
  switch (kind) {
    case LightKind::soft: {
      lighting.around = random_surroundings(0.35, rng);
      const double one = uniform(rng, 0.35, 0.65);
      lighting.glows = {window(1.0, one, rng), window(-1.0, 1.0 - one, rng)};
      break;
    }
    case LightKind::window:
      lighting.around = random_surroundings(uniform(rng, 0.08, 0.35), rng);
      lighting.glows = {window(chance(rng, 0.5) ? 1.0 : -1.0, 1.0, rng)};
      break;
    case LightKind::bulb:
      lighting.around = random_surroundings(uniform(rng, 0.04, 0.25), rng);
      add_bulb(lighting, rng);
      break;
    case LightKind::tubes:
      lighting.around = random_surroundings(uniform(rng, 0.08, 0.35), rng);
      add_tubes(lighting, rng);
      break;
  }
  return lighting;
}

void random_finish(EdgeScene& scene, std::mt19937_64& rng) {
  Finishes& finishes = scene.finishes;
  finishes.face = {uniform(rng, 0.3, 0.6), uniform(rng, 0.05, 0.14), uniform(rng, 0.2, 0.4)};
  finishes.facet = {uniform(rng, 0.25, 0.5), uniform(rng, 0.06, 0.16), uniform(rng, 0.2, 0.4)};
  finishes.corner = {uniform(rng, 0.2, 0.5), uniform(rng, 0.1, 0.25), uniform(rng, 0.3, 0.6)};
  finishes.flat = {uniform(rng, 0.3, 0.6), uniform(rng, 0.06, 0.15), uniform(rng, 0.2, 0.4)};
  finishes.line = {uniform(rng, 0.4, 0.6), uniform(rng, 0.15, 0.3), uniform(rng, 0.5, 0.8)};
  Paints& paints = scene.paints;
  const double steel = uniform(rng, 0.45, 0.6);
  const bool dyed = scene.blade.stage == SceneStage::scribed_dye ||
                    (scene.blade.has_facets() && chance(rng, 0.15));  // dye is left on the land
  paints.face = dyed ? dye(rng) : grey_paint(steel);
  if (dyed) finishes.face = {uniform(rng, 0.8, 0.95), 0.15, 0.2};
  paints.land = paints.face;
  const double line = scene.blade.stage == SceneStage::scribed_dye
                          ? uniform(rng, 0.8, 1.1)
                          : (chance(rng, 0.5) ? uniform(rng, 0.3, 0.7) : uniform(rng, 1.2, 2.0));
  paints.line_left = grey_paint(steel * line * uniform(rng, 0.8, 1.25));
  paints.line_right = grey_paint(steel * line * uniform(rng, 0.8, 1.25));
  const Paint ground = grey_paint(steel * uniform(rng, 0.85, 1.15));
  paints.facet_left = paints.fillet_left = ground;
  paints.facet_right = paints.fillet_right = ground;
  paints.chamfer_left = paints.chamfer_right = grey_paint(steel * uniform(rng, 0.8, 1.2));
  paints.burr = grey_paint(steel * uniform(rng, 1.2, 2.5));
  paints.flat_left = paints.flat_right = grey_paint(steel * uniform(rng, 0.7, 1.1));
  paints.blade_end = grey_paint(0.3 * steel);
  paints.jaw = grey_paint(random_jaw(rng));
  paints.gap = grey_paint(uniform(rng, 0.001, 0.02));
}

void perhaps_weak_land(EdgeScene& scene, std::mt19937_64& rng) {
  const bool dyed = scene.paints.face.b != scene.paints.face.r;  // shows by its colour
  if (!scene.blade.has_facets() || !chance(rng, 0.45) || dyed) return;
  const bool left = chance(rng, 0.5);
  const double x = uniform(rng, 5.0, scene.blade.x_max_mm);
  const double wanted = uniform(rng, 0.03, 0.25) * (chance(rng, 0.5) ? 1.0 : -1.0);
  const double now = 1.0 + border_contrast(scene, x, left);
  const double by = std::clamp((1.0 + wanted) / now, 0.22, 2.5);
  scene.paints.face = scene.paints.face * by;
  scene.paints.land = scene.paints.land * by;
}

void deepen_lines(EdgeScene& scene, std::mt19937_64& rng) {
  if (scene.blade.has_facets() || chance(rng, 0.2)) return;
  const double x = uniform(rng, 0.0, scene.blade.x_max_mm);
  const double now = border_contrast(scene, x, true);
  if (std::abs(now) > 0.4) return;
  const double wanted = now < 0.0 ? -uniform(rng, 0.35, 0.7) : uniform(rng, 0.4, 1.5);
  const double by = (1.0 + wanted) / (1.0 + now);
  scene.paints.line_left = scene.paints.line_left * by;
  scene.paints.line_right = scene.paints.line_right * by;
}

void set_exposure(EdgeScene& scene, std::mt19937_64& rng) {
  Lighting& lighting = *scene.lighting;
  lighting.exposure = 1.0;
  double lamps = 0.0;
  for (const Glow& glow : lighting.glows) {
    lamps += glow.strength.g * on_paper(glow, Eigen::Vector3d::Zero(), Eigen::Vector3d::UnitZ());
  }
  const double white = scene.paints.white.g * (lamps + paper_from_around(lighting.around).g);
  const Paints& paints = scene.paints;
  std::vector<double> steel;
  for (const double x : places_along(scene)) {
    steel.push_back((paints.face * steel_level(scene, Surface::face, x)).g);
    if (!scene.blade.has_facets()) continue;
    steel.push_back((paints.facet_left * steel_level(scene, Surface::facet_left, x)).g);
    steel.push_back((paints.facet_right * steel_level(scene, Surface::facet_right, x)).g);
  }
  std::sort(steel.begin(), steel.end());
  const double bright = steel[steel.size() * 9 / 10];
  const double by_card = uniform(rng, 0.4, 0.8) / white;
  const double by_steel = uniform(rng, 0.5, 1.1) / bright;
  const double darkest = 0.18 / white;  // no phone gives up the rest of the picture
  lighting.exposure = std::max(darkest, std::min(by_card, by_steel));
}

}  // namespace evenbevel::test
