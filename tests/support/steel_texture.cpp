#include "steel_texture.hpp"

#include <algorithm>
#include <cmath>

#include "evenbevel/units.hpp"

namespace evenbevel::test {
namespace {

/// Hash by 32-bit multiply and shift, after common practice.
double lattice_noise(std::int32_t index, std::uint32_t seed) {
  std::uint32_t h = static_cast<std::uint32_t>(index) * 0x9E3779B1U ^ seed * 0x85EBCA77U;
  h = (h ^ (h >> 15)) * 0x2C1B3C6DU;
  h = (h ^ (h >> 12)) * 0x297A2D39U;
  h ^= h >> 15;
  return (static_cast<double>(h) * 0x1.0p-31 - 1.0) * 1.7320508;
}

}  // namespace

double smooth_noise(double at, std::uint32_t seed) {
  const double whole = std::floor(at);
  const auto index = static_cast<std::int32_t>(whole);
  const double share = at - whole;
  return (1.0 - share) * lattice_noise(index, seed) + share * lattice_noise(index + 1, seed);
}

double modulation(const Texture& texture, double x_mm, double y_mm, std::uint32_t seed) {
  double level = 1.0;
  if (texture.across > 0.0) {  // scratches lean a little
    level += texture.across * smooth_noise((x_mm + 0.1 * y_mm) / texture.across_mm, seed + 1);
  }
  if (texture.along > 0.0) {  // streaks change slowly along the blade: two rows blended
    constexpr double kStreak = 12.0;
    const double part = x_mm / kStreak - std::floor(x_mm / kStreak);
    const auto piece = static_cast<std::uint32_t>(static_cast<int>(std::floor(x_mm / kStreak)));
    const double at = y_mm / texture.along_mm;
    level += texture.along * ((1.0 - part) * smooth_noise(at, seed + 977 * piece) +
                              part * smooth_noise(at, seed + 977 * (piece + 1)));
  }
  if (texture.slow > 0.0) level += texture.slow * smooth_noise(x_mm / texture.slow_mm, seed + 3);
  return std::max(level, 0.05);
}

double marked(const EdgeScene& scene, double x_mm, double y_mm, double pixel_mm) {
  double level = 1.0;
  for (const Scratch& scratch : scene.scratches) {
    const double beside = std::abs(x_mm - scratch.x_mm - scratch.lean * y_mm);
    const double half = 0.5 * scratch.width_mm;
    const double covered =
        std::min(beside + 0.5 * pixel_mm, half) - std::max(beside - 0.5 * pixel_mm, -half);
    if (covered > 0.0) level *= 1.0 + (scratch.level - 1.0) * covered / pixel_mm;
  }
  for (const Speck& speck : scene.specks) {
    const double away = std::hypot(x_mm - speck.x_mm, y_mm - speck.y_mm);
    const double over = (speck.radius_mm - away) / pixel_mm + 0.5;
    if (over <= 0.0) continue;
    const double area = 0.25 * kPi * std::pow(2.0 * speck.radius_mm / pixel_mm, 2);
    level *= 1.0 + (speck.level - 1.0) * std::min({1.0, over, area});
  }
  return level;
}

double burr_reach_mm(const EdgeScene& scene, double x_mm) {
  const Burr& burr = scene.blade.burr;
  if (burr.width_mm <= 0.0) return 0.0;
  const std::uint32_t seed = scene.texture_seed * 31U;
  constexpr double kRagged = 0.25;  // mm: a burr breaks off in crumbs
  const double stretch = smooth_noise(x_mm / burr.stretch_mm, seed + 1);
  if (stretch < 0.0) return 0.0;
  return burr.width_mm * std::clamp(0.6 + 0.4 * smooth_noise(x_mm / kRagged, seed + 2), 0.0, 1.0);
}

}  // namespace evenbevel::test
