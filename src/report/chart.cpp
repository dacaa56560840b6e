#include "report/chart.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "report/quantities.hpp"
#include "report/svg_pieces.hpp"

namespace evenbevel {
namespace {

constexpr double kChartWidth = 900.0;
constexpr double kChartHeight = 420.0;
constexpr double kChartLeft = 140.0, kChartRight = 20.0, kChartTop = 46.0, kChartBottom = 70.0;
constexpr double kChartBase = kChartHeight - kChartBottom;

std::optional<Stated> curve_at(const ChartSlot& slot, std::size_t curve) {
  return curve < slot.y_mm.size() ? slot.y_mm[curve] : std::nullopt;
}

bool any_seen(const ChartSlot& slot) {
  return std::any_of(slot.y_mm.begin(), slot.y_mm.end(),
                     [](const std::optional<Stated>& y) { return y.has_value(); });
}

/// mm to the drawing's own coordinates.
struct ChartPlot {
  double x_low = 0.0, x_high = 1.0, y_low = -1.0, y_high = 1.0;
  bool plus_down = false;

  double x(double mm) const {
    return kChartLeft + (mm - x_low) / (x_high - x_low) * (kChartWidth - kChartLeft - kChartRight);
  }
  double y(double mm) const {
    const double up = (mm - y_low) / (y_high - y_low) * (kChartBase - kChartTop);
    return plus_down ? kChartTop + up : kChartBase - up;
  }
  std::string point(double x_mm, double y_mm) const {
    return coordinate(x(x_mm)) + "," + coordinate(y(y_mm)) + " ";
  }
};

void widen(ChartPlot& plot, const Chart& chart) {
  for (const ChartSlot& slot : chart.slots) {
    for (std::size_t curve = 0; curve < chart.curves.size(); ++curve) {
      const std::optional<Stated> y = curve_at(slot, curve);
      if (!y) continue;
      plot.y_low = std::min(plot.y_low, y->value - y->U95);
      plot.y_high = std::max(plot.y_high, y->value + y->U95);
    }
  }
}

ChartPlot plot_for(const Chart& chart) {
  constexpr double kLeastHalf_mm = 0.01;
  constexpr double kBeyond = 1.05;
  ChartPlot plot{.x_low = chart.slots.front().x_mm,
                 .x_high = chart.slots.back().x_mm,
                 .plus_down = chart.plus_down};
  if (!(plot.x_high > plot.x_low)) plot.x_high = plot.x_low + 1.0;
  plot.y_low = std::numeric_limits<double>::infinity();
  plot.y_high = -plot.y_low;
  widen(plot, chart);
  if (!chart.zero_words.empty()) {
    const double half = std::max({kLeastHalf_mm, 1.2 * chart.tolerance_mm.value_or(0.0),
                                  -kBeyond * plot.y_low, kBeyond * plot.y_high});
    plot.y_low = -half;
    plot.y_high = half;
  } else {
    const double half = std::max(kLeastHalf_mm, 0.5 * kBeyond * (plot.y_high - plot.y_low));
    const double middle = 0.5 * (plot.y_high + plot.y_low);
    plot.y_low = middle - half;
    plot.y_high = middle + half;
  }
  return plot;
}

std::string axes(const ChartPlot& plot, const Chart& chart, LengthUnit unit) {
  const char* name = unit == LengthUnit::mm ? "mm" : "in";
  const double unit_mm = unit == LengthUnit::mm ? 1.0 : kMmPerInch;
  std::string svg = std::string("<g class=\"") + name + "\">\n";
  const double x_step = nice_step((plot.x_high - plot.x_low) / unit_mm, 6.0);
  for (const double x : ticks(plot.x_low / unit_mm, plot.x_high / unit_mm, x_step)) {
    const double at = plot.x(x * unit_mm);
    svg += line("axis", at, kChartBase, at, kChartBase + 8.0);
    svg += text(at, kChartBase + 34.0, "middle", tick_label(x, x_step));
  }
  const double y_step = nice_step((plot.y_high - plot.y_low) / unit_mm, 5.0);
  for (const double y : ticks(plot.y_low / unit_mm, plot.y_high / unit_mm, y_step)) {
    const double at = plot.y(y * unit_mm);
    svg += line("axis", kChartLeft - 8.0, at, kChartLeft, at);
    const bool plus = chart.kind == QuantityKind::signed_length && y > 0.5 * y_step;
    svg += text(kChartLeft - 14.0, at + 8.0, "end", (plus ? "+" : "") + tick_label(y, y_step));
  }
  svg += text(kChartWidth - kChartRight, kChartHeight - 8.0, "end", chart.x_name + ", " + name);
  return svg + text(kChartLeft, 30.0, "start", chart.y_name + ", " + name) + "</g>\n";
}

using Run = std::vector<std::pair<double, Stated>>;

std::vector<Run> runs_of(const Chart& chart, std::size_t curve) {
  std::vector<Run> runs(1);
  for (const ChartSlot& slot : chart.slots) {
    const std::optional<Stated> y = curve_at(slot, curve);
    if (y) {
      runs.back().emplace_back(slot.x_mm, *y);
    } else if (!runs.back().empty()) {
      runs.emplace_back();
    }
  }
  if (runs.back().empty()) runs.pop_back();
  return runs;
}

const char* pen_of(std::size_t curve) { return curve == 0 ? "one" : "two"; }

std::string shape(const std::string& element, const std::string& style, const std::string& points) {
  return "<" + element + " class=\"" + style + "\" points=\"" + points + "\"/>\n";
}

std::string curves(const ChartPlot& plot, const Chart& chart) {
  std::string bands;
  std::string lines;
  for (std::size_t curve = 0; curve < chart.curves.size(); ++curve) {
    const std::string pen = pen_of(curve);
    for (const Run& run : runs_of(chart, curve)) {
      std::string outline;
      std::string middle;
      for (const auto& [x_mm, y] : run) {
        outline += plot.point(x_mm, y.value + y.U95);
        middle += plot.point(x_mm, y.value);
      }
      for (auto place = run.rbegin(); place != run.rend(); ++place) {
        outline += plot.point(place->first, place->second.value - place->second.U95);
      }
      bands += shape("polygon", "band " + pen, outline);
      lines += shape("polyline", "curve " + pen, middle);
    }
  }
  return bands + lines;
}

/// Grey where nothing was seen, so that a gap is not read as zero.
std::string unseen(const ChartPlot& plot, const Chart& chart) {
  std::string svg;
  std::optional<double> last_mm;
  bool gap = false;
  for (const ChartSlot& slot : chart.slots) {
    if (!any_seen(slot)) {
      gap = true;
      continue;
    }
    if (gap && last_mm) {
      svg += "<rect class=\"unseen\" x=\"" + coordinate(plot.x(*last_mm)) + "\" y=\"" +
             coordinate(kChartTop) + "\" width=\"" +
             coordinate(plot.x(slot.x_mm) - plot.x(*last_mm)) + "\" height=\"" +
             coordinate(kChartBase - kChartTop) + "\"/>\n";
    }
    last_mm = slot.x_mm;
    gap = false;
  }
  return svg;
}

std::string tolerance_lines(const ChartPlot& plot, const Chart& chart) {
  if (!chart.tolerance_mm) return "";
  std::string svg;
  for (const double sign : {1.0, -1.0}) {
    const double y = plot.y(sign * *chart.tolerance_mm);
    svg += line("tolerance", kChartLeft, y, kChartWidth - kChartRight, y);
  }
  const double upper = std::min(plot.y(*chart.tolerance_mm), plot.y(-*chart.tolerance_mm));
  return svg + text(kChartWidth - kChartRight - 8.0, upper - 8.0, "end", "tolerance");
}

std::string worst_mark(const ChartPlot& plot, const Chart& chart) {
  if (!chart.worst_x_mm) return "";
  std::optional<Stated> y;
  double nearest = std::numeric_limits<double>::infinity();
  for (const ChartSlot& slot : chart.slots) {
    const double away = std::abs(slot.x_mm - *chart.worst_x_mm);
    if (!curve_at(slot, 0) || away >= nearest) continue;
    nearest = away;
    y = curve_at(slot, 0);
  }
  if (!y) return "";
  return "<circle class=\"worst\" cx=\"" + coordinate(plot.x(*chart.worst_x_mm)) + "\" cy=\"" +
         coordinate(plot.y(y->value)) + "\" r=\"10\"/>\n";
}

std::string said_of(const Chart& chart, const ChartSlot& slot, LengthUnit unit) {
  std::string words = chart.x_word + " " + format_length(slot.x_mm, unit);
  for (std::size_t curve = 0; curve < chart.curves.size(); ++curve) {
    const std::optional<Stated> y = curve_at(slot, curve);
    words += (curve == 0 ? ": " : "; ") + chart.curves[curve] + " ";
    if (!y) {
      words += "not seen";
      continue;
    }
    const Printed number = printed(chart.kind, *y, unit);
    words += number.value + ", U95 " + number.U95;
  }
  return words;
}

/// A strip of the chart for each place, to point at.
std::string slots(const ChartPlot& plot, const Chart& chart) {
  std::string svg;
  const std::size_t count = chart.slots.size();
  for (std::size_t i = 0; i < count; ++i) {
    const double x = chart.slots[i].x_mm;
    const double before = i > 0 ? chart.slots[i - 1].x_mm : x;
    const double after = i + 1 < count ? chart.slots[i + 1].x_mm : x;
    const double from = plot.x(0.5 * (before + x));
    const double to = plot.x(0.5 * (x + after));
    const InUnits said =
        in_units([&](LengthUnit unit) { return said_of(chart, chart.slots[i], unit); });
    svg += "<rect class=\"slot\" x=\"" + coordinate(from) + "\" y=\"" + coordinate(kChartTop) +
           "\" width=\"" + coordinate(std::max(1.0, to - from)) + "\" height=\"" +
           coordinate(kChartBase - kChartTop) + "\" data-mm=\"" + escaped(said.mm) +
           "\" data-in=\"" + escaped(said.in) + "\"><title>" +
           escaped(said.mm + " (" + said.in + ")") + "</title></rect>\n";
  }
  return svg;
}

std::string legend(const Chart& chart) {
  std::string html = "<p class=\"quiet\">";
  for (std::size_t curve = 0; curve < chart.curves.size(); ++curve) {
    const std::string pen = pen_of(curve);
    html += key("<rect class=\"band " + pen + "\" x=\"0\" y=\"2\" width=\"60\" height=\"16\"/>" +
                    "<line class=\"curve " + pen + "\" x1=\"0\" y1=\"10\" x2=\"60\" y2=\"10\"/>",
                chart.curves[curve] + ", with its 95 % band");
  }
  if (!chart.zero_words.empty()) {
    html +=
        key("<line class=\"middle\" x1=\"0\" y1=\"10\" x2=\"60\" y2=\"10\"/>", chart.zero_words);
  }
  if (chart.worst_x_mm) {
    html += key("<circle class=\"worst\" cx=\"30\" cy=\"10\" r=\"8\"/>", "worst place");
  }
  return html + "Grey: not seen.</p>\n";
}

}  // namespace

std::string chart_html(const Chart& chart) {
  if (std::none_of(chart.slots.begin(), chart.slots.end(), any_seen)) {
    return "<p>Not resolved by this photo.</p>\n";
  }
  const ChartPlot plot = plot_for(chart);
  std::string svg = "<div class=\"chart\">\n<svg viewBox=\"0 0 " + coordinate(kChartWidth) + " " +
                    coordinate(kChartHeight) + "\" role=\"img\" aria-label=\"" +
                    escaped(chart.name) + "\">\n";
  svg += unseen(plot, chart) + curves(plot, chart);
  if (!chart.zero_words.empty())
    svg += line("middle", kChartLeft, plot.y(0.0), kChartWidth - kChartRight, plot.y(0.0));
  svg += tolerance_lines(plot, chart) +
         line("axis", kChartLeft, kChartBase, kChartWidth - kChartRight, kChartBase);
  svg += axes(plot, chart, LengthUnit::mm) + axes(plot, chart, LengthUnit::inch);
  svg += worst_mark(plot, chart) + slots(plot, chart) + "</svg>\n";
  svg += "<input class=\"place\" type=\"range\" autocomplete=\"off\" min=\"0\" max=\"" +
         std::to_string(chart.slots.size() - 1) +
         "\" value=\"0\" aria-label=\"Place in the chart: " + escaped(chart.name) +
         "\">\n<output></output>\n";
  return svg + legend(chart) + "</div>\n";
}

}  // namespace evenbevel
