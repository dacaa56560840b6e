#include "edge_result.hpp"

#include <algorithm>
#include <cmath>

#include "plunge_place.hpp"
#include "summary.hpp"

namespace evenbevel::edge {
namespace {

/// Along the blade at the height of the edge, from s in the reference plane.
class EdgeLine {
 public:
  explicit EdgeLine(const Placement& placed)
      : foot_s_mm_(placed.sign() * placed.plane.camera_mm().x()),
        shrink_((placed.camera.height_mm - placed.metric.edge_height_mm) /
                (placed.camera.height_mm - placed.settings.reference_height_mm)) {}

  double at(double s_mm) const { return foot_s_mm_ + (s_mm - foot_s_mm_) * shrink_; }

 private:
  double foot_s_mm_, shrink_;
};

EdgeTrace trace_of(const Placement& placed, std::optional<Reading> BandReadings::*which,
                   EdgeTrace::Kind kind) {
  const double sign = placed.sign();
  EdgeTrace trace;
  trace.kind = kind;
  for (const BandReadings& band : placed.bands) {
    if (!(band.*which)) continue;
    trace.points_px.push_back(placed.plane.pixel(sign * band.s_mm, sign * (band.*which)->t_mm));
    trace.u_px.push_back((band.*which)->u_mm * band.px_per_mm);
  }
  if (!placed.bands.empty()) {
    trace.coverage =
        static_cast<double>(trace.points_px.size()) / static_cast<double>(placed.bands.size());
  }
  return trace;
}

std::vector<EdgeTrace> traces_of(const Placement& placed) {
  using enum EdgeTrace::Kind;
  const bool lines = placed.settings.stage == Stage::scribed;
  return {trace_of(placed, &BandReadings::flat_high, flat_left),
          trace_of(placed, &BandReadings::flat_low, flat_right),
          trace_of(placed, &BandReadings::inner_high, lines ? scribe_left : land_left),
          trace_of(placed, &BandReadings::inner_low, lines ? scribe_right : land_right)};
}

/// Puts the plunge lines into the result. @return  Where x = 0 lies, along the blade.
double set_plunges(EdgeResult& result, const Placement& placed, const EdgeLine& along,
                   double view_u_mm) {
  if (!placed.plunges.high || !placed.plunges.low) {
    const std::vector<EdgeStation>& stations = placed.metric.stations;
    return stations.empty() ? 0.0 : along.at(stations.front().x_mm);
  }
  PlacedPlunges plunges = place_plunges(
      placed, [&](double s_mm) { return along.at(placed.sign() * s_mm); }, view_u_mm);
  const double origin = 0.5 * (plunges.left_mm.value + plunges.right_mm.value);
  plunges.left_mm.value -= origin;
  plunges.right_mm.value -= origin;
  result.x_from_plunge = true;
  result.plunge_left_mm = plunges.left_mm;
  result.plunge_right_mm = plunges.right_mm;
  result.plunge_mismatch_mm = plunges.mismatch_mm;
  return origin;
}

/// From the first station with an offset to the last: before and behind, nothing is said.
std::vector<EdgeStation> stations_of(const Placement& placed, const EdgeLine& along,
                                     double origin_mm) {
  std::vector<EdgeStation> stations = placed.metric.stations;
  for (std::size_t i = 0; i < stations.size(); ++i) {
    EdgeStation& station = stations[i];
    station.px = placed.plane.pixel(placed.sign() * station.x_mm,
                                    placed.sign() * placed.metric.middle_t_mm[i]);
    station.x_mm = along.at(station.x_mm) - origin_mm;
  }
  const auto measured = [](const EdgeStation& s) { return s.centreline_offset_mm.has_value(); };
  const auto first = std::find_if(stations.begin(), stations.end(), measured);
  const auto last = std::find_if(stations.rbegin(), stations.rend(), measured).base();
  if (first >= last) return {};
  return {first, last};
}

}  // namespace

EdgeResult result_of(const Placement& placed, const BladeReading& read, double px_per_mm,
                     double plunge_view_u_mm) {
  EdgeResult result;
  result.stage = read.inner.stage;
  result.tip = placed.mirrored ? Tip::left : Tip::right;
  const EdgeLine along(placed);
  const double origin_mm = set_plunges(result, placed, along, plunge_view_u_mm);
  result.stations = stations_of(placed, along, origin_mm);
  result.traces = traces_of(placed);
  result.scale_px_per_mm = px_per_mm;
  result.blur_px = read.plan.blur_px;
  result.camera_distance_mm = placed.camera.height_mm - placed.metric.edge_height_mm;
  summarise(result, placed.metric.mean_offset_mm);
  return result;
}

}  // namespace evenbevel::edge
