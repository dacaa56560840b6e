#include "mirror.hpp"

#include <algorithm>
#include <utility>

namespace evenbevel::edges {
namespace {

void negate(std::optional<Measured>& value) {
  if (value) value->value = -value->value;
}

EdgeTrace::Kind other_side(EdgeTrace::Kind kind) {
  using Kind = EdgeTrace::Kind;
  switch (kind) {
    case Kind::flat_left:
      return Kind::flat_right;
    case Kind::flat_right:
      return Kind::flat_left;
    case Kind::scribe_left:
      return Kind::scribe_right;
    case Kind::scribe_right:
      return Kind::scribe_left;
    case Kind::land_left:
      return Kind::land_right;
    case Kind::land_right:
      return Kind::land_left;
  }
  return kind;
}

void mirror(EdgeStation& station) {
  negate(station.centreline_offset_mm);
  std::swap(station.facet_width_left_mm, station.facet_width_right_mm);
}

}  // namespace

EdgeResult mirrored(const EdgeResult& result) {
  EdgeResult out = result;
  out.tip = result.tip == Tip::left ? Tip::right : Tip::left;
  const double length = result.stations.empty() ? 0.0 : result.stations.back().x_mm;
  const double x_sum = result.x_from_plunge ? 0.0 : length;
  std::reverse(out.stations.begin(), out.stations.end());
  for (EdgeStation& station : out.stations) {
    station.x_mm = x_sum - station.x_mm;
    mirror(station);
  }
  out.worst_x_mm = x_sum - result.worst_x_mm;
  for (auto* value :
       {&out.centreline_offset_mm, &out.centreline_offset_worst_mm, &out.facet_width_difference_mm,
        &out.land_taper_mm, &out.bow_mm, &out.plunge_left_mm, &out.plunge_right_mm}) {
    negate(*value);
  }
  std::swap(out.facet_width_left_mm, out.facet_width_right_mm);
  std::swap(out.facet_angle_left_rad, out.facet_angle_right_rad);
  std::swap(out.land_height_left_mm, out.land_height_right_mm);
  std::swap(out.plunge_left_mm, out.plunge_right_mm);
  for (EdgeTrace& trace : out.traces) {
    trace.kind = other_side(trace.kind);
    std::reverse(trace.points_px.begin(), trace.points_px.end());
    std::reverse(trace.u_px.begin(), trace.u_px.end());
  }
  std::sort(out.traces.begin(), out.traces.end(),
            [](const EdgeTrace& a, const EdgeTrace& b) { return a.kind < b.kind; });
  for (EdgePhotoPart& part : out.photos) {
    part.tip = part.tip == Tip::left ? Tip::right : Tip::left;
    negate(part.centreline_offset_mm);
    part.camera_lateral_mm = -part.camera_lateral_mm;
  }
  out.camera_lateral_mm = -result.camera_lateral_mm;
  return out;
}

}  // namespace evenbevel::edges
