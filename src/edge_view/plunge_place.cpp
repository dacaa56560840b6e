#include "plunge_place.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

namespace evenbevel::edge {
namespace {

constexpr const char* kByOffset = "edge's place between the flats";
constexpr const char* kByWidths = "width of the land and stock";

/// How deep the facets are where they begin, and what is unknown of it.
struct FacetDepths {
  double left_mm, right_mm;
  double offset_u_mm;  ///< Makes one deeper and the other less deep.
  double both_u_mm;    ///< Moves both alike.
};

/// From the stations nearest to the plunge lines: offset, land and stock.
std::optional<FacetDepths> facet_depths(const Placement& placed) {
  constexpr double kNearMm = 15.0;  // Offset and land change by less than they are known to.
  const std::vector<EdgeStation>& stations = placed.metric.stations;
  const auto told = [](const EdgeStation& s) { return s.centreline_offset_mm && s.land_width_mm; };
  const auto first = std::find_if(stations.begin(), stations.end(), told);
  if (first == stations.end()) return std::nullopt;
  Measured offset, land;
  double count = 0.0;
  for (auto s = first; s != stations.end() && s->x_mm < first->x_mm + kNearMm; ++s) {
    if (!told(*s)) continue;
    offset.value += s->centreline_offset_mm->value, offset.u += s->centreline_offset_mm->u;
    land.value += s->land_width_mm->value, land.u += s->land_width_mm->u;
    count += 1.0;
  }
  const double half = 0.5 * (placed.settings.thickness_mm - land.value / count);
  const double off = offset.value / count;
  return FacetDepths{.left_mm = half - off,
                     .right_mm = half + off,
                     .offset_u_mm = offset.u / count,
                     .both_u_mm = 0.5 * std::hypot(placed.settings.thickness_u_mm, land.u / count)};
}

/// As found: by the rims beside the plunge lines, each with its broken corner.
FacetDepths depths_as_found(const PlungeLine& left, const PlungeLine& right) {
  constexpr double kRimMm = 0.02;  // What a broken corner leaves unknown of a rim.
  return {.left_mm = left.outline.depth_mm,
          .right_mm = right.outline.depth_mm,
          .offset_u_mm = kRimMm / std::sqrt(2.0),
          .both_u_mm = kRimMm / std::sqrt(2.0)};
}

/// Of what lies at the height of the edge, seen in the reference plane.
double apparent_scale(const Placement& placed) {
  return (placed.camera.height_mm - placed.settings.reference_height_mm) /
         (placed.camera.height_mm - placed.metric.edge_height_mm);
}

PlungeLine with_depth(PlungeLine line, double depth_mm) {
  constexpr double kShallowest = 0.5, kDeepest = 0.98;  // Of the depth found; of the arc's radius.
  line.outline = line.outline.with_depth(
      std::clamp(depth_mm, kShallowest * line.outline.depth_mm, kDeepest * line.outline.radius_mm));
  return line;
}

}  // namespace

PlacedPlunges place_plunges(const Placement& placed, const std::function<double(double)>& x_of,
                            double view_u_mm) {
  const PlungeLines& lines = placed.plunges;
  PlungeLine left = placed.mirrored ? *lines.low : *lines.high;
  PlungeLine right = placed.mirrored ? *lines.high : *lines.low;
  const auto told = facet_depths(placed);
  const FacetDepths depths = told.value_or(depths_as_found(left, right));
  if (told) {
    const double scale = apparent_scale(placed);
    left = with_depth(left, scale * depths.left_mm);
    right = with_depth(right, scale * depths.right_mm);
  }
  // Half the depth is where an outline is read.
  const double run_left = 0.5 * left.outline.run_at_half();
  const double run_right = 0.5 * right.outline.run_at_half();
  const auto place = [&](const PlungeLine& line, double run) {
    return combine(x_of(line.s_mm()), {{"plunge line's outline", line.u_mm},
                                       {kByOffset, run * depths.offset_u_mm},
                                       {kByWidths, run * depths.both_u_mm}});
  };
  PlacedPlunges out{
      .left_mm = place(left, run_left), .right_mm = place(right, run_right), .mismatch_mm = {}};
  out.mismatch_mm = combine(out.left_mm.value - out.right_mm.value,
                            {{"left plunge line's outline", left.u_mm},
                             {"right plunge line's outline", right.u_mm},
                             {kByOffset, (run_left + run_right) * depths.offset_u_mm},
                             {kByWidths, std::abs(run_left - run_right) * depths.both_u_mm}});
  if (view_u_mm > 0.0)
    out.mismatch_mm = with_line(out.mismatch_mm, {"how the camera stood", view_u_mm});
  return out;
}

}  // namespace evenbevel::edge
