#include <algorithm>
#include <bit>

#include "plan/quantities.hpp"
#include "plan/relations.hpp"

namespace evenbevel {
namespace {

using Q = PlanQuantity;

struct Aim {
  std::string what;
  std::vector<Q> needs;
  std::vector<Q> ask;  ///< What a maker is likely to have at hand for it.
};

const std::vector<Aim>& aims() {
  static const std::vector<Aim> all{
      {"scribe lines", {Q::stock, Q::land}, {Q::stock, Q::land}},
      {"bevel height and angle",
       {Q::bevel_height, Q::bevel_angle},
       {Q::bevel_height, Q::bevel_angle, Q::stock, Q::land}},
      {"flat above the bevel",
       {Q::flat_height},
       {Q::blade_height, Q::bevel_height, Q::bevel_angle, Q::stock, Q::land}},
      {"thickness behind the edge",
       {Q::land, Q::bevel_angle},
       {Q::bevel_height, Q::bevel_angle, Q::stock, Q::land}},
      {"sharpened bevel",
       {Q::sharpened_width},
       {Q::sharpening_angle, Q::bevel_height, Q::bevel_angle, Q::stock, Q::land}},
      {"shim under the rest",
       {Q::shim},
       {Q::rest_length, Q::bevel_height, Q::bevel_angle, Q::stock, Q::land}},
      {"distal taper",
       {Q::stock, Q::tip_thickness, Q::length},
       {Q::stock, Q::tip_thickness, Q::length}}};
  return all;
}

std::vector<bool> flags_of(const PlanValues& values) {
  std::vector<bool> known(kPlanQuantities, false);
  for (const auto& [quantity, value] : values) known[static_cast<std::size_t>(quantity)] = true;
  return known;
}

/// Which quantities could be worked out; the same steps as with numbers.
std::vector<bool> reachable(std::vector<bool> known) {
  const auto is_known = [&known](Q quantity) { return known[static_cast<std::size_t>(quantity)]; };
  bool found = true;
  while (found) {
    found = false;
    for (const PlanRelation& relation : plan_relations()) {
      for (const PlanRelation::Way& way : relation.ways) {
        const bool ready =
            std::all_of(relation.quantities.begin(), relation.quantities.end(),
                        [&](Q quantity) { return quantity == way.unknown || is_known(quantity); });
        if (!ready || is_known(way.unknown)) continue;
        known[static_cast<std::size_t>(way.unknown)] = true;
        found = true;
      }
    }
  }
  return known;
}

bool settles(const std::vector<bool>& known, const Aim& aim) {
  return std::all_of(aim.needs.begin(), aim.needs.end(),
                     [&](Q quantity) { return known[static_cast<std::size_t>(quantity)]; });
}

std::vector<Q> chosen(const std::vector<Q>& ask, unsigned mask) {
  std::vector<Q> out;
  for (std::size_t i = 0; i < ask.size(); ++i) {
    if ((mask >> i & 1U) != 0U) out.push_back(ask[i]);
  }
  return out;
}

/// The smallest sets of further values that settle the aim.
std::vector<std::vector<Q>> smallest_sets(const std::vector<bool>& known, const Aim& aim) {
  constexpr std::size_t kMost = 2;
  std::vector<std::vector<Q>> sets;
  for (int size = 1; size <= static_cast<int>(aim.ask.size()) && sets.empty(); ++size) {
    for (unsigned mask = 1; mask < 1U << aim.ask.size() && sets.size() < kMost; ++mask) {
      if (std::popcount(mask) != size) continue;
      const std::vector<Q> set = chosen(aim.ask, mask);
      std::vector<bool> with_set = known;
      for (const Q quantity : set) with_set[static_cast<std::size_t>(quantity)] = true;
      if (settles(reachable(with_set), aim)) sets.push_back(set);
    }
  }
  return sets;
}

}  // namespace

std::vector<PlanGap> plan_gaps(const PlanValues& values) {
  const std::vector<bool> known = flags_of(values);
  std::vector<PlanGap> gaps;
  for (const Aim& aim : aims()) {
    if (settles(known, aim)) continue;
    std::vector<std::vector<Q>> sets = smallest_sets(known, aim);
    if (!sets.empty()) gaps.push_back({aim.what, std::move(sets)});
  }
  return gaps;
}

}  // namespace evenbevel
