#include "evenbevel/advice.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "advice/numbers.hpp"
#include "advice/sentences.hpp"
#include "advice/zones.hpp"

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

std::string how_much_is_meant(const AdviceContext& context) {
  if (context.stage == Stage::bevelled) {
    return "Amounts are across the land, seen from above: press at the edge, and let the belt off "
           "toward the bevel line.";
  }
  return "Amounts are across the land, seen from above; the facet itself loses less, about 0.7 of "
         "it at 45 degrees.";
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
std::string which_belt(double most_mm, LengthUnit unit) {
  const auto finest = std::find_if(kBelts.begin(), kBelts.end(),
                                   [&](const Belt& belt) { return belt.grain_mm >= most_mm; });
  const std::string amount = "The most there is to take off is " + format_length(most_mm, unit);
  if (finest == kBelts.begin()) return amount + ": still within reach of a 400 grit belt.";
  const std::string grit =
      std::to_string(finest == kBelts.end() ? kBelts.back().grit : finest->grit);
  return amount + ": put it right at " + grit +
         " grit or coarser, a finer belt hardly moves it any more.";
}

}  // namespace

std::vector<std::string> edge_advice(const EdgeResult& result, std::optional<double> wanted_land_mm,
                                     std::optional<double> tolerance_mm, LengthUnit unit) {
  std::vector<std::string> sentences;
  GrindPlan plan = grind_plan(result, wanted_land_mm, tolerance_mm, unit);
  if (plan.zones.empty()) {
    sentences.emplace_back(
        "The centreline offset is not resolved by this photo: grind nothing on "
        "the strength of it.");
  } else {
    std::stable_sort(plan.zones.begin(), plan.zones.end(),
                     [](const Zone& a, const Zone& b) { return urgency(a) > urgency(b); });
    for (const Zone& zone : plan.zones) sentences.push_back(zone_sentence(zone, plan.context));
    const bool work = urgency(plan.zones.front()) > 0.0 && plan.context.stage != Stage::scribed;
    if (work) sentences.push_back(how_much_is_meant(plan.context));
    const double most_mm = most_to_take_off(plan.zones);
    if (work && most_mm > 0.0) sentences.push_back(which_belt(most_mm, unit));
  }
  if (result.plunge_mismatch_mm) {
    sentences.push_back(plunge_sentence(*result.plunge_mismatch_mm, "this photo resolves", unit));
  }
  return sentences;
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
