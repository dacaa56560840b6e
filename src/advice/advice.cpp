#include "evenbevel/advice.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <utility>

#include "advice/grinding.hpp"
#include "advice/plunges.hpp"

namespace evenbevel {
namespace {

/// Off-centre work first, then what a face has to lose at all; long zones before short ones.
double urgency(const Zone& zone) {
  const auto weight = [](Standing standing, const Measured& need) {
    return standing == Standing::on_line ? 0.0 : std::abs(need.value);
  };
  const double work =
      std::max(weight(zone.left, zone.mean.left_mm), weight(zone.right, zone.mean.right_mm));
  return zone.mean.within_tolerance ? 1e-3 * work : work;
}

Remark how_much_is_meant(const GrindContext& context) {
  if (context.stage == Stage::bevelled) return remark<RemarkCode::press_at_edge>();
  return remark<RemarkCode::across_and_into>(degrees(context.facets.mean_rad().value));
}

struct Belt {
  int grit;
  double grain_mm;
};

/// Mean size of the grains, FEPA P (ISO 6344, coated abrasives).
constexpr std::array<Belt, 4> kBelts = {{{400, 0.035}, {220, 0.068}, {120, 0.125}, {60, 0.269}}};

/// The most that either face still has to lose, by a resolved amount.
double most_to_take_off(const std::vector<Zone>& all) {
  double most_mm = 0.0;
  for (const Zone& zone : all) {
    if (zone.mean.within_tolerance) continue;
    for (const Need& need : zone.needs) {
      if (zone.left == Standing::outside) most_mm = std::max(most_mm, need.left_mm.value);
      if (zone.right == Standing::outside) most_mm = std::max(most_mm, need.right_mm.value);
    }
  }
  return most_mm;
}

/// What has to be put right on this belt and what a finer one still can. A belt moves a border by
/// about the size of its grains before it only polishes (common practice, no source).
Remark which_belt(double most_mm) {
  const auto finest = std::find_if(kBelts.begin(), kBelts.end(),
                                   [&](const Belt& belt) { return belt.grain_mm >= most_mm; });
  if (finest == kBelts.begin()) return remark<RemarkCode::within_reach_of_400>(most_mm);
  return remark<RemarkCode::coarser_belt>(
      most_mm, finest == kBelts.end() ? kBelts.back().grit : finest->grit);
}

}  // namespace

std::vector<Remark> edge_advice(const EdgeResult& result, std::optional<double> wanted_land_mm,
                                std::optional<double> tolerance_mm) {
  std::vector<Remark> advice;
  GrindPlan plan = grind_plan(result, wanted_land_mm, tolerance_mm);
  if (plan.zones.empty()) {
    advice.push_back(remark<RemarkCode::no_offset>());
  } else {
    std::stable_sort(plan.zones.begin(), plan.zones.end(),
                     [](const Zone& a, const Zone& b) { return urgency(a) > urgency(b); });
    for (const Zone& zone : plan.zones) advice.push_back(zone_remark(zone, plan.context));
    const bool work = urgency(plan.zones.front()) > 0.0 && plan.context.stage != Stage::scribed;
    if (work) advice.push_back(how_much_is_meant(plan.context));
    const double most_mm = most_to_take_off(plan.zones);
    if (work && most_mm > 0.0) advice.push_back(which_belt(most_mm));
  }
  if (auto plunges = plunge_remark(result.plunge_mismatch_mm))
    advice.push_back(std::move(*plunges));
  return advice;
}

std::optional<Remark> plunge_remark(const std::optional<Measured>& mismatch) {
  if (!mismatch || !std::isfinite(mismatch->value) || !std::isfinite(mismatch->u)) return {};
  const Measured& mismatch_mm = *mismatch;
  const double size_mm = std::abs(mismatch_mm.value);
  if (size_mm <= U95(mismatch_mm)) return remark<RemarkCode::plunges_as_one>(U95(mismatch_mm));
  const Face face = mismatch_mm.value > 0.0 ? Face::left : Face::right;
  return remark<RemarkCode::plunge_nearer_tip>(name(face), size_mm, U95(mismatch_mm));
}

const std::vector<std::string>& cautions() {
  static const std::vector<std::string> all = {
      "A ground edge cuts even when it looks blunt: tape or sheath all but the part that is "
      "measured.",
      "Never measure, or reach for a blade, near a running belt.",
      "A blade just off the belt burns.",
      "Wear eye and breathing protection when grinding: steel and handle dust harm lungs.",
      "The numbers are a guide for the maker; the shop's own rules, the manuals of the machines "
      "used and local law come first."};
  return all;
}

}  // namespace evenbevel
