#include <algorithm>
#include <cmath>
#include <map>

#include "evenbevel/choil_view.hpp"
#include "evenbevel/record_compare.hpp"
#include "record/report_facts.hpp"

namespace evenbevel {
namespace {

constexpr std::size_t kFewestStations = 5;

/// A quantity with its coverage factor.
struct WithFactor {
  double value = 0.0, u = 0.0, k = 2.0;
};

double factor(double u, double U) { return u > 0.0 ? U / u : 2.0; }

std::optional<WithFactor> stated_in(const std::vector<StatedQuantity>& quantities,
                                    std::string_view id) {
  const StatedQuantity* quantity = find(quantities, id);
  if (quantity == nullptr) return std::nullopt;
  const auto& [value, u, U95] = quantity->value;
  return WithFactor{value, u, factor(u, U95)};
}

/// One face's border along the blade: from the mid-plane (edge view), from spine or edge (side
/// view).
struct Border {
  struct At {
    double x_mm, away_mm;
  };
  std::vector<At> places = {};  ///< By rising x.
  double u_mm = 0.0, k = 2.0;
  bool whole_stock = false;
  double half_stock_mm = 0.0;

  double mean() const {
    double sum = 0.0;
    for (const At& at : places) sum += at.away_mm;
    return sum / static_cast<double>(places.size());
  }
};

double sign_of(Face face) { return face == Face::left ? 1.0 : -1.0; }

/// From the widths and the offsets at the stations: half the width plus or minus the offset.
std::optional<Border> border_of(const Statement& report, std::string_view width_id, Face face) {
  const auto offset = stated_in(report.quantities, "centreline_offset");
  const auto width = stated_in(report.quantities, width_id);
  if (!offset || !width) return std::nullopt;
  Border border{.u_mm = std::hypot(offset->u, 0.5 * width->u), .k = std::max(offset->k, width->k)};
  for (const StatedStation& station : report.stations) {
    const StatedQuantity* c = find(station.quantities, "centreline_offset");
    const StatedQuantity* e = find(station.quantities, width_id);
    if (c == nullptr || e == nullptr) continue;
    border.places.push_back({station.at_mm, 0.5 * e->value.value + sign_of(face) * c->value.value});
  }
  std::ranges::sort(border.places, {}, &Border::At::x_mm);
  if (border.places.empty()) return std::nullopt;
  return border;
}

bool scribed(const Statement& report) { return report.stage == "scribed"; }

/// Before the edge is ground, it is the whole stock.
std::optional<Border> stock_border(const Statement& report) {
  if (!scribed(report)) return std::nullopt;
  const auto thickness = report.provenance.settings.number("thickness");
  const auto u = report.provenance.settings.number("thickness_u");
  if (!thickness || !u) return std::nullopt;
  return Border{.u_mm = 0.5 * *u, .whole_stock = true, .half_stock_mm = 0.5 * *thickness};
}

std::optional<Border> edge_border(const Statement& report, Face face) {
  return scribed(report) ? stock_border(report) : border_of(report, "land_width", face);
}

/// Between its two neighbours; empty beyond the ends and across a gap.
std::optional<double> at(const Border& border, double x_mm) {
  constexpr double kWidestGapMm = 5.0;
  const auto after =
      std::ranges::lower_bound(border.places, x_mm, {}, [](const Border::At& a) { return a.x_mm; });
  if (after == border.places.end()) return std::nullopt;
  if (after->x_mm == x_mm) return after->away_mm;
  if (after == border.places.begin()) return std::nullopt;
  const Border::At& before = *std::prev(after);
  if (after->x_mm - before.x_mm > kWidestGapMm) return std::nullopt;
  const double share = (x_mm - before.x_mm) / (after->x_mm - before.x_mm);
  return before.away_mm + share * (after->away_mm - before.away_mm);
}

bool from_plunge(const Statement& report) { return report.x_origin == "plunge_lines"; }

/// Mean of `a` minus `b`, station by station where both were seen and x means the same.
double mean_difference(const Border& a, const Border& b, bool same_x) {
  if (a.whole_stock) return a.half_stock_mm - b.mean();
  if (same_x) {
    double sum = 0.0;
    std::size_t n = 0;
    for (const Border::At& place : a.places) {
      const std::optional<double> other = at(b, place.x_mm);
      if (!other) continue;
      sum += place.away_mm - *other;
      ++n;
    }
    if (n >= kFewestStations) return sum / static_cast<double>(n);
  }
  return a.mean() - b.mean();
}

Steel steel_of(SteelKind kind, std::optional<Face> face, const WithFactor& value,
               double at_mm = 0.0) {
  const double U = value.k * value.u;
  return {kind, face, at_mm, value.value, value.u, U, std::abs(value.value) > U};
}

WithFactor difference(const Border& a, const Border& b, bool same_x) {
  return {mean_difference(a, b, same_x), std::hypot(a.u_mm, b.u_mm), std::max(a.k, b.k)};
}

WithFactor difference(const WithFactor& a, const WithFactor& b) {
  return {a.value - b.value, std::hypot(a.u, b.u), std::max(a.k, b.k)};
}

void add_edge(const Statement& earlier, const Statement& later, std::vector<Steel>& steel) {
  const bool same_x = from_plunge(earlier) && from_plunge(later);
  for (const Face face : {Face::left, Face::right}) {
    const auto before = edge_border(earlier, face);
    const auto after = edge_border(later, face);
    if (!before || !after || after->whole_stock) continue;
    steel.push_back(steel_of(SteelKind::edge, face, difference(*before, *after, same_x)));
  }
  if (!scribed(earlier) || scribed(later)) return;
  for (const Face face : {Face::left, Face::right}) {
    const auto line = border_of(earlier, "line_gap", face);
    const auto after = border_of(later, "land_width", face);
    if (!line || !after) continue;
    steel.push_back(steel_of(SteelKind::edge_line, face, difference(*after, *line, same_x)));
  }
}

/// A face's `quantity` along the blade, with the uncertainty of its mean.
std::optional<Border> along_face(const Statement& report, const std::string& quantity) {
  const auto mean = stated_in(report.quantities, quantity);
  if (!mean) return std::nullopt;
  Border curve{.u_mm = mean->u, .k = mean->k};
  for (const StatedStation& station : report.stations) {
    const StatedQuantity* here = find(station.quantities, quantity);
    if (here != nullptr) curve.places.push_back({station.at_mm, here->value.value});
  }
  std::ranges::sort(curve.places, {}, &Border::At::x_mm);
  if (curve.places.empty()) return std::nullopt;
  return curve;
}

/// How much larger the quantity was before; station by station where both reports have any.
std::optional<WithFactor> lost_along_face(const Statement& earlier, const Statement& later,
                                          const std::string& quantity) {
  const auto before = along_face(earlier, quantity);
  const auto after = along_face(later, quantity);
  if (before && after) {
    return difference(*before, *after, from_plunge(earlier) && from_plunge(later));
  }
  const auto mean_before = stated_in(earlier.quantities, quantity);
  const auto mean_after = stated_in(later.quantities, quantity);
  if (!mean_before || !mean_after) return std::nullopt;
  return difference(*mean_before, *mean_after);
}

void add_side(const Statement& earlier, const Statement& later, std::vector<Steel>& steel) {
  for (const Face face : {Face::left, Face::right}) {
    const std::string on_face = "_" + std::string(name(face));
    std::optional<WithFactor> up = lost_along_face(earlier, later, "spine_to_bevel" + on_face);
    if (!up) {
      up = lost_along_face(earlier, later, "bevel_height" + on_face);
      if (up) up->value = -up->value;
    }
    if (up) steel.push_back(steel_of(SteelKind::bevel_line, face, *up));
  }
}

/// Half the section, from the middle of the flats, by depth. None where the axis was not taken from
/// the flats: it is the section's own middle then, and says nothing of one face.
std::map<double, WithFactor> halves(const Statement& report, Face face) {
  std::map<double, WithFactor> all;
  if (report.more.part("axis").text("from") != name(AxisSource::flats)) return all;
  for (const StatedQuantity& depth : report.quantities) {
    if (depth.id != "thickness_at" || !depth.depth_mm) continue;
    const auto half = stated_in(depth.beside, "half_" + std::string(name(face)));
    if (half) all.emplace(*depth.depth_mm, *half);
  }
  return all;
}

std::vector<RecordedValue> thicknesses(const Statement& report) {
  std::vector<RecordedValue> values = recorded_values(report);
  std::erase_if(values, [](const RecordedValue& value) { return value.name != "thickness_at"; });
  return values;
}

void add_choil_thickness(const Statement& earlier, const Statement& later,
                         std::vector<Steel>& steel) {
  const std::vector<RecordedValue> after = thicknesses(later);
  for (const RecordedValue& before : thicknesses(earlier)) {
    const auto same = std::ranges::find(after, before.at, &RecordedValue::at);
    if (same == after.end()) continue;
    const auto with_factor = [](const RecordedValue& v) {
      return WithFactor{v.value, v.u, factor(v.u, v.U95)};
    };
    steel.push_back(steel_of(SteelKind::behind_edge, std::nullopt,
                             difference(with_factor(before), with_factor(*same)), before.at));
  }
}

void add_choil_halves(const Statement& earlier, const Statement& later, std::vector<Steel>& steel) {
  for (const Face face : {Face::left, Face::right}) {
    const std::map<double, WithFactor> after = halves(later, face);
    for (const auto& [at_mm, before] : halves(earlier, face)) {
      const auto same = after.find(at_mm);
      if (same == after.end()) continue;
      steel.push_back(
          steel_of(SteelKind::behind_edge, face, difference(before, same->second), at_mm));
    }
  }
}

}  // namespace

std::vector<Steel> steel_between(const Statement& earlier, const Statement& later) {
  std::vector<Steel> steel = {};
  if (earlier.view != later.view) return steel;
  if (later.view == "edge") add_edge(earlier, later, steel);
  if (later.view == "side") add_side(earlier, later, steel);
  if (later.view == "choil") {
    add_choil_thickness(earlier, later, steel);
    add_choil_halves(earlier, later, steel);
  }
  return steel;
}

}  // namespace evenbevel
