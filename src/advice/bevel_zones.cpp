#include "advice/bevel_zones.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <string>

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

void add_stretch(RemarkDraft& draft, const std::string& which, const BevelZone& zone) {
  draft.with(which + "_from_x_mm", zone.from_mm);
  if (zone.stations > 1) draft.with(which + "_to_x_mm", zone.to_mm);
}

/// The longest by name, in order from handle to tip; the rest are only counted.
void add_stretches(RemarkDraft& draft, const std::vector<BevelZone>& own) {
  static constexpr std::array kWhich = {"first", "second", "third"};
  std::vector<BevelZone> named = own;
  std::ranges::stable_sort(named, std::greater<>(), &BevelZone::stations);
  if (named.size() > kWhich.size()) named.resize(kWhich.size());
  std::ranges::sort(named, {}, &BevelZone::from_mm);
  const std::size_t more = own.size() - named.size();
  for (std::size_t i = 0; i < named.size(); ++i) {
    const bool last = i > 0 && i + 1 == named.size() && more == 0;
    add_stretch(draft, last ? "last" : kWhich[i], named[i]);
  }
  if (more > 0) draft.with("more_stretches", more);
}

/// Both with the decimals of the one that has to be reached.
void add_come_up(RemarkDraft& draft, const Measured& least_mm, const Measured& most_mm) {
  const double U_mm = U95(most_mm);
  const auto said = [&](const Measured& mm) {
    return printed_length(mm.value, U_mm, LengthUnit::mm).value;
  };
  if (said(least_mm) == said(most_mm)) {
    draft.with("by_mm", most_mm.value);
  } else {
    draft.with("most_mm", most_mm.value);
    if (most_mm.value - least_mm.value > U_mm) draft.with("least_mm", least_mm.value);
  }
  draft.with("U95_mm", U_mm);
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

Remark come_up_remark(const BevelZone& zone) {
  RemarkDraft draft(RemarkCode::come_up_by);
  add_come_up(draft, zone.least_mm, zone.most_mm);
  return draft.done();
}

Remark bevel_face_remark(const BevelZone& zone, Face face) {
  if (zone.grind != face) return remark<RemarkCode::ribbon_leave>();
  RemarkDraft draft(RemarkCode::ribbon_up);
  add_come_up(draft, zone.least_mm, zone.most_mm);
  return draft.done();
}

std::optional<Remark> grind_face_remark(const std::vector<BevelZone>& zones, Face face) {
  const std::vector<BevelZone> own = of_face(zones, face);
  if (own.empty()) return std::nullopt;
  const BevelZone& most =
      *std::ranges::max_element(own, {}, [](const BevelZone& zone) { return zone.most_mm.value; });
  const BevelZone& least =
      *std::ranges::min_element(own, {}, [](const BevelZone& zone) { return zone.least_mm.value; });
  RemarkDraft draft(RemarkCode::grind_face);
  draft.with("face", name(face));
  const bool whole = own.size() == zones.size();
  if (!whole) add_stretches(draft, own);
  add_come_up(draft, least.least_mm, most.most_mm);
  return draft.with("most_x_mm", most.most_x_mm).done();
}

}  // namespace evenbevel
