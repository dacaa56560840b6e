#include "lighting.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/Geometry>

namespace evenbevel::test {
namespace {

/// What a mirror sees in this direction: below, the walls, the ceiling, and the phone before it.
Paint surroundings_toward(const Eigen::Vector3d& direction, const Eigen::Vector3d& to_eye,
                          const LightOnSpot& light) {
  constexpr double kSoft = 0.15;  // brushed steel blurs the horizon by some 9 degrees
  const double rise = direction.dot(light.up);
  const double high = std::clamp(rise / 0.8, 0.0, 1.0);
  const Paint sky = blend(light.around.level, light.around.above, high * high * (3.0 - 2.0 * high));
  constexpr double kPhone = 0.05;  // 1 - cos of the 18 degrees that phone and hand take
  const double phone = light.around.phone * std::exp(-(1.0 - direction.dot(to_eye)) / kPhone);
  const double share_of_sky = 1.0 / (1.0 + std::exp(-rise / kSoft));
  return blend(light.below, sky * (1.0 - phone), share_of_sky);
}

double squared(double value) { return value * value; }

double falloff(const Eigen::Vector3d& to_glow) { return 1e6 / to_glow.squaredNorm(); }

}  // namespace

const char* name(LightKind kind) {
  switch (kind) {
    case LightKind::soft:
      return "soft";
    case LightKind::window:
      return "window";
    case LightKind::bulb:
      return "bulb";
    case LightKind::tubes:
      return "tubes";
  }
  return "";
}

double on_paper(const Glow& glow, const Eigen::Vector3d& place, const Eigen::Vector3d& normal) {
  const Eigen::Vector3d to_glow = glow.place_mm - place;
  return std::max(0.0, normal.dot(to_glow) / to_glow.norm()) * falloff(to_glow);
}

Paint paper_from_around(const Surroundings& around) {
  return blend(around.level, around.above, 0.7);
}

Paint sent_to_eye(const Spot& spot, const Sheen& sheen, const LightOnSpot& light) {
  const Eigen::Vector3d to_eye = (light.eye - spot.place).normalized();
  const double facing = std::max(0.02, spot.normal.dot(to_eye));
  const Eigen::Vector3d across = spot.normal.cross(spot.scratch);
  const double sky_share = 0.5 * (1.0 + spot.normal.dot(light.up));
  Paint sum = blend(light.below, paper_from_around(light.around), sky_share) * sheen.even;
  const Eigen::Vector3d mirrored = 2.0 * spot.normal.dot(to_eye) * spot.normal - to_eye;
  sum = sum + surroundings_toward(mirrored, to_eye, light) * (1.0 - sheen.even);
  for (const Glow& glow : light.glows) {
    const Eigen::Vector3d to_glow = glow.place_mm - spot.place;
    const double distance = to_glow.norm();
    const double slant = spot.normal.dot(to_glow) / distance;
    if (slant <= 0.0) continue;
    const Eigen::Vector3d half = (to_glow / distance + to_eye).normalized();
    const double widened = 0.5 * squared(glow.radius_mm / distance);  // half vectors move by half
    const double along2 = squared(sheen.along) + widened;
    const double across2 = squared(sheen.across) + widened;
    const double tilt =
        squared(half.dot(spot.scratch)) / along2 + squared(half.dot(across)) / across2;
    const double lobe = std::exp(-tilt / squared(half.dot(spot.normal))) *
                        std::sqrt(slant / facing) / (4.0 * std::sqrt(along2 * across2));
    const double level = sheen.even * slant + (1.0 - sheen.even) * lobe;
    sum = sum + glow.strength * (level * falloff(to_glow));
  }
  return sum;
}

}  // namespace evenbevel::test
