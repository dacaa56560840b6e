#include <algorithm>
#include <vector>

#include "evenbevel/advice.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {
namespace {

/// Zones that have more than they may; without a tolerance, more than chance would leave.
bool due(const FinishZone& zone, std::optional<double> tolerance_per_cm2) {
  return zone.density.count > 0 && zone.density.per_cm2.low > 0.0 &&
         zone.density.per_cm2.value > tolerance_per_cm2.value_or(0.0);
}

/// The direction that lies farthest from the lay and from what is left.
double next_direction(const FinishFaceResult& face) {
  std::vector<double> taken;
  for (const Lay& lay : face.lays) {
    if (lay.direction_rad) taken.push_back(*lay.direction_rad);
  }
  for (const ScratchFamily& family : face.families) taken.push_back(family.direction_rad.value);
  double best = 0.0, most = -1.0;
  for (int k = 0; k < 36; ++k) {
    const double direction = radians(5.0 * k);
    double least = kPi;
    for (const double other : taken) least = std::min(least, between_axes(direction, other));
    if (least > most) most = least, best = direction;
  }
  return best;
}

}  // namespace

std::vector<Remark> finish_advice(const FinishResult& result,
                                  std::optional<double> tolerance_per_cm2) {
  std::vector<Remark> advice;
  for (const FinishFaceResult& face : result.faces) {
    const std::string where(name(face.face));
    if (face.scratches.empty()) {
      advice.push_back(RemarkDraft(RemarkCode::finish_none_left)
                           .with("face", where)
                           .with("most_per_cm2", face.density.per_cm2.high)
                           .with("smallest_mm", face.smallest_mm)
                           .done());
      continue;
    }
    std::vector<FinishZone> zones = face.zones;
    std::stable_sort(zones.begin(), zones.end(), [](const FinishZone& a, const FinishZone& b) {
      return a.density.per_cm2.value > b.density.per_cm2.value;
    });
    for (const FinishZone& zone : zones) {
      if (!due(zone, tolerance_per_cm2)) continue;
      advice.push_back(remark<RemarkCode::finish_more_work>(where, zone.name, zone.density.count,
                                                            zone.density.per_cm2.value,
                                                            zone.from_x_mm, zone.to_x_mm));
    }
    const double next = next_direction(face);
    advice.push_back(
        remark<RemarkCode::finish_sand_next>(where, degrees(next), direction_words(next)));
  }
  return advice;
}

}  // namespace evenbevel
