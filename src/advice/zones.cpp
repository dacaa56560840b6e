#include "advice/zones.hpp"

#include <algorithm>
#include <cmath>

namespace evenbevel {
namespace {

constexpr double kShortest_mm = 5.0;  ///< A shorter zone is joined to its neighbour: nobody can
                                      ///< grind less than that on a belt.
constexpr double kGap_mm = 10.0;      ///< Not seen for longer than this: the zone ends.

Measured difference_to_line(const Need& need, double sign, const Measured& width,
                            double wanted_mm) {
  // Offset and half the width share their causes in part; adding the u's is the safe side.
  return {.value = sign * need.offset_mm.value + 0.5 * (width.value - wanted_mm),
          .u = need.offset_mm.u + 0.5 * width.u,
          .dof = std::min(need.offset_mm.dof, width.dof)};
}

/// Centring alone: twice the offset comes off the face toward which the land stands.
Measured twice_when_positive(double sign, const Measured& offset) {
  return {
      .value = std::max(0.0, 2.0 * sign * offset.value), .u = 2.0 * offset.u, .dof = offset.dof};
}

std::optional<Measured> width_of(const EdgeStation& station, Stage stage) {
  return stage == Stage::scribed ? station.line_gap_mm : station.land_width_mm;
}

bool shows_width(const EdgeResult& result) {
  return std::any_of(result.stations.begin(), result.stations.end(), [&](const EdgeStation& s) {
    return s.centreline_offset_mm && width_of(s, result.stage);
  });
}

std::optional<Need> need_at(const EdgeStation& station, Stage stage,
                            std::optional<double> wanted_mm, std::optional<double> tolerance_mm) {
  if (!station.centreline_offset_mm) return std::nullopt;
  if (wanted_mm && !width_of(station, stage)) return std::nullopt;
  const Measured& offset = *station.centreline_offset_mm;
  Need need{.x_mm = station.x_mm,
            .left_mm = {},
            .right_mm = {},
            .offset_mm = offset,
            .width_mm = width_of(station, stage)};
  need.within_tolerance = tolerance_mm && std::abs(offset.value) + U95(offset) <= *tolerance_mm;
  if (wanted_mm) {
    need.left_mm = difference_to_line(need, +1.0, *need.width_mm, *wanted_mm);
    need.right_mm = difference_to_line(need, -1.0, *need.width_mm, *wanted_mm);
  } else if (stage == Stage::scribed) {  // the pair moves as one, its gap stays
    need.left_mm = offset;
    need.right_mm = {.value = -offset.value, .u = offset.u, .dof = offset.dof};
  } else {
    need.left_mm = twice_when_positive(+1.0, offset);
    need.right_mm = twice_when_positive(-1.0, offset);
  }
  return need;
}

Measured mean_of(const std::vector<Need>& needs, Measured Need::*member) {
  Measured mean;
  mean.dof = std::numeric_limits<double>::infinity();
  for (const Need& need : needs) {
    mean.value += (need.*member).value;
    mean.u += (need.*member).u;  // what stations share does not average out: keep all of it
    mean.dof = std::min(mean.dof, (need.*member).dof);
  }
  const auto count = static_cast<double>(needs.size());
  mean.value /= count;
  mean.u /= count;
  return mean;
}

std::optional<Measured> mean_width(const std::vector<Need>& needs) {
  std::optional<Measured> mean;
  double count = 0.0;
  for (const Need& need : needs) {
    if (!need.width_mm) continue;
    if (!mean) mean = Measured{};
    mean->value += need.width_mm->value;
    mean->u += need.width_mm->u;
    mean->dof = std::min(mean->dof, need.width_mm->dof);
    count += 1.0;
  }
  if (mean) {
    mean->value /= count;
    mean->u /= count;
  }
  return mean;
}

void summarise(Zone& zone) {
  zone.from_mm = zone.needs.front().x_mm;
  zone.to_mm = zone.needs.back().x_mm;
  zone.mean.x_mm = 0.5 * (zone.from_mm + zone.to_mm);
  zone.mean.left_mm = mean_of(zone.needs, &Need::left_mm);
  zone.mean.right_mm = mean_of(zone.needs, &Need::right_mm);
  zone.mean.offset_mm = mean_of(zone.needs, &Need::offset_mm);
  zone.mean.width_mm = mean_width(zone.needs);
  zone.mean.within_tolerance = std::all_of(zone.needs.begin(), zone.needs.end(),
                                           [](const Need& need) { return need.within_tolerance; });
  zone.left = standing(zone.mean.left_mm);
  zone.right = standing(zone.mean.right_mm);
}

bool same_sense(const Zone& zone, const Need& need, bool centring_only) {
  if (centring_only && zone.needs.back().within_tolerance != need.within_tolerance) return false;
  return standing(zone.needs.back().left_mm) == standing(need.left_mm) &&
         standing(zone.needs.back().right_mm) == standing(need.right_mm);
}

bool touching(const Zone& before, const Zone& after) {
  return after.from_mm - before.to_mm <= kGap_mm;
}

/// Joins zone `index` to the longer of the neighbours it touches.
bool join_to_neighbour(std::vector<Zone>& all, std::size_t index) {
  const bool can_left = index > 0 && touching(all[index - 1], all[index]);
  const bool can_right = index + 1 < all.size() && touching(all[index], all[index + 1]);
  if (!can_left && !can_right) return false;
  const bool left =
      can_left && (!can_right || all[index - 1].length_mm() >= all[index + 1].length_mm());
  const std::size_t first = left ? index - 1 : index;
  std::vector<Need>& into = all[first].needs;
  into.insert(into.end(), all[first + 1].needs.begin(), all[first + 1].needs.end());
  all.erase(all.begin() + static_cast<std::ptrdiff_t>(first) + 1);
  summarise(all[first]);
  return true;
}

void join_short_zones(std::vector<Zone>& all) {
  std::vector<std::size_t> order;
  bool joined = true;
  while (joined) {
    joined = false;
    order.resize(all.size());
    for (std::size_t i = 0; i < all.size(); ++i) order[i] = i;
    std::sort(order.begin(), order.end(), [&all](std::size_t a, std::size_t b) {
      return all[a].length_mm() < all[b].length_mm();
    });
    for (const std::size_t index : order) {
      if (all[index].length_mm() >= kShortest_mm) break;
      joined = join_to_neighbour(all, index);
      if (joined) break;
    }
  }
}

/// Neighbours that ask for the same, once the short ones between them are gone.
void join_alike_zones(std::vector<Zone>& all) {
  for (std::size_t i = 0; i + 1 < all.size();) {
    const bool alike = all[i].left == all[i + 1].left && all[i].right == all[i + 1].right &&
                       all[i].mean.within_tolerance == all[i + 1].mean.within_tolerance;
    if (!alike || !touching(all[i], all[i + 1])) {
      ++i;
      continue;
    }
    all[i].needs.insert(all[i].needs.end(), all[i + 1].needs.begin(), all[i + 1].needs.end());
    all.erase(all.begin() + static_cast<std::ptrdiff_t>(i) + 1);
    summarise(all[i]);
  }
}

}  // namespace

Standing standing(const Measured& need_mm) {
  const double U = U95(need_mm);
  if (need_mm.value > U) return Standing::outside;
  if (need_mm.value < -U) return Standing::past;
  return Standing::on_line;
}

std::vector<Zone> zones(const EdgeResult& result, std::optional<double> wanted_width_mm,
                        std::optional<double> tolerance_mm) {
  if (!shows_width(result)) wanted_width_mm.reset();
  std::vector<Zone> all;
  for (const EdgeStation& station : result.stations) {
    const std::optional<Need> need = need_at(station, result.stage, wanted_width_mm, tolerance_mm);
    if (!need) continue;
    const bool continues = !all.empty() && need->x_mm - all.back().needs.back().x_mm <= kGap_mm &&
                           same_sense(all.back(), *need, !wanted_width_mm);
    if (!continues) all.emplace_back();
    all.back().needs.push_back(*need);
  }
  for (Zone& zone : all) summarise(zone);
  join_short_zones(all);
  join_alike_zones(all);
  return all;
}

}  // namespace evenbevel
