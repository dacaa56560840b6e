#include "record/stage_charts.hpp"

#include <algorithm>
#include <vector>

#include "advice/numbers.hpp"
#include "record/stage_chart.hpp"
#include "record/stages.hpp"

namespace evenbevel {
namespace {

struct CurveOf {
  const char* quantity;
  const char* legend;  ///< Empty: the depth.
  double at_mm = 0.0;

  InUnits words() const {
    if (at_mm == 0.0) return {legend, legend};
    return in_units([&](LengthUnit unit) { return trimmed_length(at_mm, unit) + " behind it"; });
  }
};

enum class Axis {
  from_zero,  ///< Of what is never below it.
  plus_up,    ///< Zero in the middle.
  plus_down,  ///< Of sides, zero in the middle: the left one is below, as in the reports.
};

struct ChartOf {
  const char* view;
  const char* name;
  const char* y_name;
  std::vector<CurveOf> curves;
  Axis axis = Axis::from_zero;
  bool degrees = false;
  const char* unit = "";  ///< Empty: of a length or an angle.
};

const std::vector<ChartOf>& all_charts() {
  static const std::vector<ChartOf> charts = {
      {"edge",
       "Centreline offset from stage to stage",
       "offset, down is toward the left face",
       {{"centreline_offset", "mean"}, {"centreline_offset_worst", "worst place"}},
       Axis::plus_down},
      {"edge",
       "Symmetry zone from stage to stage",
       "symmetry zone",
       {{"symmetry", "symmetry zone"}}},
      {"edge",
       "Plunge mismatch at the edge from stage to stage",
       "plunge mismatch, up: left one nearer the tip",
       {{"plunge_mismatch", "left - right"}},
       Axis::plus_up},
      {"side",
       "Bevel height from stage to stage",
       "bevel height",
       {{"bevel_height_left", "left face"}, {"bevel_height_right", "right face"}}},
      {"side",
       "Bevel height difference from stage to stage",
       "difference, up: left bevel line higher",
       {{"bevel_height_difference", "mean"}, {"bevel_height_difference_worst", "worst place"}},
       Axis::plus_up},
      {"side",
       "Plunge mismatch on the faces from stage to stage",
       "plunge mismatch, up: left one nearer the tip",
       {{"plunge_mismatch", "left - right"}},
       Axis::plus_up},
      {"choil",
       "Thickness behind the edge from stage to stage",
       "thickness behind the edge",
       {{"thickness_at", "", 1.0}, {"thickness_at", "", 5.0}, {"thickness_at", "", 10.0}}},
      {"choil",
       "Angle of each side from stage to stage",
       "angle of a side",
       {{"angle_left", "left side"}, {"angle_right", "right side"}},
       Axis::from_zero,
       true},
      {"choil",
       "Asymmetry from stage to stage",
       "worst asymmetry, down: left half thicker",
       {{"asymmetry", "left - right half"}},
       Axis::plus_down},
      {"finish",
       "Scratches left from stage to stage",
       "scratches",
       {{"scratches_left", "left face"}, {"scratches_right", "right face"}},
       Axis::from_zero,
       false,
       "a cm2"},
      {"finish",
       "Length of scratches left from stage to stage",
       "length of scratches",
       {{"scratch_length_left", "left face"}, {"scratch_length_right", "right face"}},
       Axis::from_zero,
       false,
       "mm a cm2"}};
  return charts;
}

/// Those that an entry shows.
std::vector<CurveOf> curves_of(const ChartOf& of, const Knife& knife) {
  std::vector<CurveOf> curves = of.curves;
  std::erase_if(curves, [&](const CurveOf& curve) {
    return std::ranges::none_of(knife.entries, [&](const RecordEntry& entry) {
      return entry.view == of.view && find_value(entry, curve.quantity, curve.at_mm) != nullptr;
    });
  });
  return curves;
}

std::string chart_html(const ChartOf& of, const Knife& knife) {
  const std::vector<CurveOf> curves = curves_of(of, knife);
  if (curves.empty()) return "";
  StageChart chart{.name = of.name,
                   .y_name = of.y_name,
                   .around_zero = of.axis != Axis::from_zero,
                   .plus_down = of.axis == Axis::plus_down,
                   .degrees = of.degrees,
                   .unit = of.unit};
  for (const CurveOf& curve : curves) chart.curves.push_back(curve.words());
  for (const RecordEntry& entry : knife.entries) {
    if (entry.view != of.view) continue;
    StageSlot slot{.label = entry.stage};
    for (const CurveOf& curve : curves) {
      const RecordedValue* value = find_value(entry, curve.quantity, curve.at_mm);
      slot.values.push_back(value == nullptr ? std::nullopt : std::optional(*value));
    }
    chart.slots.push_back(slot);
  }
  return stage_chart_html(chart);
}

}  // namespace

std::string stage_charts_html(const Knife& knife) {
  std::string html;
  for (const std::string& view : views_of(knife)) {
    std::string of_view;
    for (const ChartOf& of : all_charts()) {
      if (view == of.view) of_view += chart_html(of, knife);
    }
    if (of_view.empty()) continue;
    html += "<h3>" + view + " view</h3>\n<div class=\"stage-charts\">\n" + of_view + "</div>\n";
  }
  return html;
}

}  // namespace evenbevel
