#include "advice/bevel_zones.hpp"

#include <algorithm>
#include <cmath>

#include "advice/numbers.hpp"

namespace evenbevel {
namespace {

Measured size_of(Measured value) {
  value.value = std::abs(value.value);
  return value;
}

bool usable(const std::optional<Measured>& value) {
  return value && std::isfinite(value->value) && std::isfinite(value->u);
}

std::optional<Face> face_to_grind(const Measured& difference_mm,
                                  std::optional<double> tolerance_mm) {
  const double size = std::abs(difference_mm.value);
  const double U = U95(difference_mm);
  if (size <= U || (tolerance_mm && size + U <= *tolerance_mm)) return std::nullopt;
  return difference_mm.value > 0.0 ? Face::right : Face::left;
}

void add(BevelZone& zone, double x_mm, const Measured& difference_mm) {
  const Measured size = size_of(difference_mm);
  if (zone.stations == 0) zone.from_mm = x_mm;
  zone.to_mm = x_mm;
  if (zone.grind && (zone.stations == 0 || size.value < zone.least_mm.value)) zone.least_mm = size;
  if (zone.grind && (zone.stations == 0 || size.value > zone.most_mm.value)) {
    zone.most_mm = size;
    zone.most_x_mm = x_mm;
  }
  ++zone.stations;
}

std::vector<BevelZone> of_face(const std::vector<BevelZone>& zones, Face face) {
  std::vector<BevelZone> own = zones;
  std::erase_if(own, [&](const BevelZone& zone) { return zone.grind != face; });
  return own;
}

int count_stations(const std::vector<BevelZone>& zones) {
  int count = 0;
  for (const BevelZone& zone : zones) count += zone.stations;
  return count;
}

std::string stretch_words(const BevelZone& zone, LengthUnit unit) {
  if (zone.stations == 1) return "at x = " + printed_position(zone.from_mm, unit);
  return "from x = " + printed_position_number(zone.from_mm, unit) + " to " +
         printed_position(zone.to_mm, unit);
}

/// "from x = 2 to 30 mm and from x = 41 to 98 mm"; the shortest are only counted.
std::string where_words(const std::vector<BevelZone>& own, LengthUnit unit) {
  constexpr std::size_t kNamed = 3;
  std::vector<BevelZone> named = own;
  std::ranges::stable_sort(named, std::greater<>(), &BevelZone::stations);
  if (named.size() > kNamed) named.resize(kNamed);
  std::ranges::sort(named, {}, &BevelZone::from_mm);
  std::string words;
  for (std::size_t i = 0; i < named.size(); ++i) {
    const bool last = i + 1 == named.size() && own.size() == named.size();
    words += (i == 0 ? "" : last ? " and " : ", ") + stretch_words(named[i], unit);
  }
  const std::size_t more = own.size() - named.size();
  if (more == 0) return words;
  return words + " and in " + std::to_string(more) +
         (more == 1 ? " shorter stretch" : " shorter stretches");
}

}  // namespace

std::vector<BevelZone> bevel_zones(const SideResult& result, std::optional<double> tolerance_mm) {
  std::vector<BevelZone> zones;
  bool broken = true;
  for (const SideStation& station : result.stations) {
    const std::optional<Measured>& difference = station.bevel_height_difference_mm;
    if (!usable(difference)) {
      broken = true;
      continue;
    }
    const std::optional<Face> grind = face_to_grind(*difference, tolerance_mm);
    if (broken || zones.back().grind != grind) zones.push_back({.grind = grind});
    add(zones.back(), station.x_mm, *difference);
    broken = false;
  }
  return zones;
}

std::string come_up_words(const Measured& least_mm, const Measured& most_mm, LengthUnit unit) {
  const std::string most = printed_length(most_mm, unit).value;
  // Both with the decimals of the one that has to be reached.
  std::string least = printed_length({least_mm.value, most_mm.u, most_mm.dof}, unit).value;
  if (least == most) return most;
  if (most_mm.value - least_mm.value <= U95(most_mm)) return "up to " + most;
  least.resize(least.find(' '));
  return least + " to " + most;
}

std::string bevel_zone_words(const BevelZone& zone, Face face, LengthUnit unit) {
  if (zone.grind != face) return "leave";
  return "bring up by " + come_up_words(zone.least_mm, zone.most_mm, unit);
}

std::string grind_face_sentence(const std::vector<BevelZone>& zones, Face face, LengthUnit unit) {
  const std::vector<BevelZone> own = of_face(zones, face);
  if (own.empty()) return "";
  const BevelZone& most =
      *std::ranges::max_element(own, {}, [](const BevelZone& zone) { return zone.most_mm.value; });
  const BevelZone& least =
      *std::ranges::min_element(own, {}, [](const BevelZone& zone) { return zone.least_mm.value; });
  constexpr double kWhole = 0.9;  // the share of the compared stations that counts as all of them
  const bool whole = count_stations(own) >= kWhole * count_stations(zones);
  return "Grind the " + std::string(name(face)) + " face " +
         (whole ? "along the whole bevel" : where_words(own, unit)) +
         ": its bevel line has still to come up by " +
         come_up_words(least.least_mm, most.most_mm, unit) + " (U95 " +
         printed_length(most.most_mm, unit).U95 +
         ", most at x = " + printed_position(most.most_x_mm, unit) + ").";
}

}  // namespace evenbevel
