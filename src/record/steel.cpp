#include <algorithm>
#include <cmath>
#include <map>

#include <nlohmann/json.hpp>

#include "evenbevel/choil_view.hpp"
#include "evenbevel/record_compare.hpp"
#include "record/report_facts.hpp"

namespace evenbevel {
namespace {

using Json = nlohmann::json;

constexpr std::size_t kFewestStations = 5;

/// A quantity with its coverage factor.
struct Stated {
  double value = 0.0, u = 0.0, k = 2.0;
};

std::optional<double> number(const Json& object, const char* key) {
  const auto found = object.find(key);
  if (found == object.end() || !found->is_number()) return std::nullopt;
  return found->get<double>();
}

std::optional<Stated> stated_in(const Json& object, const char* quantity) {
  const auto found = object.find(quantity);
  if (found == object.end() || !found->is_object()) return std::nullopt;
  const auto value = number(*found, "value");
  const auto u = number(*found, "u");
  const auto U = number(*found, "U95");
  if (!value || !u || !U) return std::nullopt;
  return Stated{*value, *u, *u > 0.0 ? *U / *u : 2.0};
}

std::optional<Stated> stated(const Json& report, const char* quantity) {
  const auto all = report.find("quantities");
  if (all == report.end() || !all->is_object()) return std::nullopt;
  return stated_in(*all, quantity);
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

/// From the widths `name` and the offsets at the stations: half the width plus or minus the offset.
std::optional<Border> border_of(const Json& report, const char* width_name, Face face) {
  const auto offset = stated(report, "centreline_offset");
  const auto width = stated(report, width_name);
  const auto stations = report.find("stations");
  if (!offset || !width || stations == report.end() || !stations->is_array()) return std::nullopt;
  Border border{.u_mm = std::hypot(offset->u, 0.5 * width->u), .k = std::max(offset->k, width->k)};
  for (const Json& station : *stations) {
    const auto x = number(station, "x");
    const auto c = station.find("centreline_offset");
    const auto e = station.find(width_name);
    if (!x || c == station.end() || e == station.end()) continue;
    const auto c_mm = number(*c, "value");
    const auto e_mm = number(*e, "value");
    if (c_mm && e_mm) border.places.push_back({*x, 0.5 * *e_mm + sign_of(face) * *c_mm});
  }
  std::ranges::sort(border.places, {}, &Border::At::x_mm);
  if (border.places.empty()) return std::nullopt;
  return border;
}

bool scribed(const Json& report) { return report.value("stage", "") == "scribed"; }

/// Before the edge is ground, it is the whole stock.
std::optional<Border> stock_border(const Json& report) {
  const auto settings = report.find("settings");
  if (!scribed(report) || settings == report.end()) return std::nullopt;
  const auto thickness = number(*settings, "thickness");
  const auto u = number(*settings, "thickness_u");
  if (!thickness || !u) return std::nullopt;
  return Border{.u_mm = 0.5 * *u, .whole_stock = true, .half_stock_mm = 0.5 * *thickness};
}

std::optional<Border> edge_border(const Json& report, Face face) {
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

bool from_plunge(const Json& report) { return report.value("x_origin", "") == "plunge_lines"; }

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

Steel steel_of(SteelKind kind, std::optional<Face> face, const Stated& value, double at_mm = 0.0) {
  const double U = value.k * value.u;
  return {kind, face, at_mm, value.value, value.u, U, std::abs(value.value) > U};
}

Stated difference(const Border& a, const Border& b, bool same_x) {
  return {mean_difference(a, b, same_x), std::hypot(a.u_mm, b.u_mm), std::max(a.k, b.k)};
}

Stated difference(const Stated& a, const Stated& b) {
  return {a.value - b.value, std::hypot(a.u, b.u), std::max(a.k, b.k)};
}

void add_edge(const Json& earlier, const Json& later, std::vector<Steel>& steel) {
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
std::optional<Border> along_face(const Json& report, const std::string& quantity) {
  const auto mean = stated(report, quantity.c_str());
  const auto stations = report.find("stations");
  if (!mean || stations == report.end() || !stations->is_array()) return std::nullopt;
  Border curve{.u_mm = mean->u, .k = mean->k};
  for (const Json& station : *stations) {
    const auto x = number(station, "x");
    const auto here = station.find(quantity);
    if (!x || here == station.end()) continue;
    if (const auto mm = number(*here, "value")) curve.places.push_back({*x, *mm});
  }
  std::ranges::sort(curve.places, {}, &Border::At::x_mm);
  if (curve.places.empty()) return std::nullopt;
  return curve;
}

/// How much larger the quantity was before; station by station where both reports have any.
std::optional<Stated> lost_along_face(const Json& earlier, const Json& later,
                                      const std::string& quantity) {
  const auto before = along_face(earlier, quantity);
  const auto after = along_face(later, quantity);
  if (before && after) {
    return difference(*before, *after, from_plunge(earlier) && from_plunge(later));
  }
  const auto mean_before = stated(earlier, quantity.c_str());
  const auto mean_after = stated(later, quantity.c_str());
  if (!mean_before || !mean_after) return std::nullopt;
  return difference(*mean_before, *mean_after);
}

void add_side(const Json& earlier, const Json& later, std::vector<Steel>& steel) {
  for (const Face face : {Face::left, Face::right}) {
    const std::string on_face = "_" + std::string(name(face));
    std::optional<Stated> up = lost_along_face(earlier, later, "spine_to_bevel" + on_face);
    if (!up) {
      up = lost_along_face(earlier, later, "bevel_height" + on_face);
      if (up) up->value = -up->value;
    }
    if (up) steel.push_back(steel_of(SteelKind::bevel_line, face, *up));
  }
}

/// Half the section, from the middle of the flats, by depth. None where the axis was not taken from
/// the flats: it is the section's own middle then, and says nothing of one face.
std::map<double, Stated> halves(const Json& report, Face face) {
  std::map<double, Stated> all;
  const auto axis = report.find("axis");
  if (axis == report.end() || axis->value("from", "") != name(AxisSource::flats)) return all;
  const auto quantities = report.find("quantities");
  if (quantities == report.end() || !quantities->is_object()) return all;
  const auto depths = quantities->find("thickness_at");
  if (depths == quantities->end() || !depths->is_array()) return all;
  const std::string name_of_half = "half_" + std::string(name(face));
  for (const Json& depth : *depths) {
    const auto at = number(depth, "depth");
    const auto half = stated_in(depth, name_of_half.c_str());
    if (at && half) all.emplace(*at, *half);
  }
  return all;
}

std::vector<RecordedValue> thicknesses(const std::string& report) {
  std::vector<RecordedValue> values = report_facts(report).values;
  std::erase_if(values, [](const RecordedValue& value) { return value.name != "thickness_at"; });
  return values;
}

void add_choil_thickness(const std::string& earlier, const std::string& later,
                         std::vector<Steel>& steel) {
  const std::vector<RecordedValue> after = thicknesses(later);
  for (const RecordedValue& before : thicknesses(earlier)) {
    const auto same = std::ranges::find(after, before.at, &RecordedValue::at);
    if (same == after.end()) continue;
    const auto with_k = [](const RecordedValue& v) {
      return Stated{v.value, v.u, v.u > 0.0 ? v.U95 / v.u : 2.0};
    };
    steel.push_back(steel_of(SteelKind::behind_edge, std::nullopt,
                             difference(with_k(before), with_k(*same)), before.at));
  }
}

void add_choil_halves(const Json& earlier, const Json& later, std::vector<Steel>& steel) {
  for (const Face face : {Face::left, Face::right}) {
    const std::map<double, Stated> after = halves(later, face);
    for (const auto& [at_mm, before] : halves(earlier, face)) {
      const auto same = after.find(at_mm);
      if (same == after.end()) continue;
      steel.push_back(
          steel_of(SteelKind::behind_edge, face, difference(before, same->second), at_mm));
    }
  }
}

}  // namespace

std::vector<Steel> steel_between(const std::string& earlier_report,
                                 const std::string& later_report) {
  const std::string view = report_facts(earlier_report).view;
  std::vector<Steel> steel = {};
  if (report_facts(later_report).view != view) return steel;
  const Json earlier = Json::parse(earlier_report);
  const Json later = Json::parse(later_report);
  if (view == "edge") add_edge(earlier, later, steel);
  if (view == "side") add_side(earlier, later, steel);
  if (view == "choil") {
    add_choil_thickness(earlier_report, later_report, steel);
    add_choil_halves(earlier, later, steel);
  }
  return steel;
}

}  // namespace evenbevel
