#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "report/html_parts.hpp"
#include "report/quantities.hpp"

namespace evenbevel {
namespace {

constexpr double kWidth = 900.0;
constexpr double kHeight = 420.0;
constexpr double kLeft = 110.0, kRight = 20.0, kTop = 46.0, kBottom = 70.0;

std::string coordinate(double value) {
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), "%.1f", value);
  return text.data();
}

/// A step of 1, 2 or 5 times a power of ten that cuts `range` into about `count`.
double nice_step(double range, double count) {
  const double rough = range / count;
  const double decade = std::pow(10.0, std::floor(std::log10(rough)));
  for (const double multiple : {1.0, 2.0, 5.0}) {
    if (multiple * decade >= rough) return multiple * decade;
  }
  return 10.0 * decade;
}

std::vector<double> ticks(double low, double high, double step) {
  const double first = std::ceil(low / step) * step;
  std::vector<double> at;
  for (int k = 0; first + k * step <= high; ++k) at.push_back(first + k * step);
  return at;
}

std::string tick_label(double value, double step) {
  const int decimals = std::max(0, static_cast<int>(std::ceil(-std::log10(step) - 1e-9)));
  std::array<char, 32> text{};
  const double clean = std::abs(value) < 0.5 * step ? 0.0 : value;
  std::snprintf(text.data(), text.size(), "%.*f", decimals, clean);
  return text.data();
}

/// Everything in display units.
struct Plot {
  double x_low = 0.0, x_high = 1.0, limit = 1.0, unit_mm = 1.0;

  double x(double x_mm) const {
    const double share = (x_mm / unit_mm - x_low) / (x_high - x_low);
    return kLeft + share * (kWidth - kLeft - kRight);
  }
  double y(double offset_mm) const {
    const double half = 0.5 * (kHeight - kTop - kBottom);
    return kTop + half - half * offset_mm / unit_mm / limit;
  }
  std::string point(double x_mm, double offset_mm) const {
    return coordinate(x(x_mm)) + "," + coordinate(y(offset_mm)) + " ";
  }
};

Plot plot_for(const EdgeResult& result, const ReportSettings& settings) {
  Plot plot;
  plot.unit_mm = settings.unit == LengthUnit::mm ? 1.0 : kMmPerInch;
  double limit_mm = std::max(0.01, 1.2 * settings.tolerance_mm.value_or(0.0));
  for (const EdgeStation& station : result.stations) {
    const std::optional<Measured> offset = measured(station.centreline_offset_mm);
    if (offset) limit_mm = std::max(limit_mm, 1.05 * (std::abs(offset->value) + U95(*offset)));
  }
  plot.limit = limit_mm / plot.unit_mm;
  plot.x_low = result.stations.front().x_mm / plot.unit_mm;
  plot.x_high = result.stations.back().x_mm / plot.unit_mm;
  if (!(plot.x_high > plot.x_low)) plot.x_high = plot.x_low + 1.0;
  return plot;
}

std::string line(const char* style, double x1, double y1, double x2, double y2) {
  return std::string("<line class=\"") + style + "\" x1=\"" + coordinate(x1) + "\" y1=\"" +
         coordinate(y1) + "\" x2=\"" + coordinate(x2) + "\" y2=\"" + coordinate(y2) + "\"/>\n";
}

std::string text(double x, double y, const char* anchor, const std::string& words) {
  return "<text x=\"" + coordinate(x) + "\" y=\"" + coordinate(y) + "\" text-anchor=\"" + anchor +
         "\">" + escaped(words) + "</text>\n";
}

std::string axes(const Plot& plot, LengthUnit unit) {
  const char* name = unit == LengthUnit::mm ? "mm" : "in";
  const double base = kHeight - kBottom;
  std::string svg = line("axis", kLeft, base, kWidth - kRight, base);
  const double x_step = nice_step(plot.x_high - plot.x_low, 6.0);
  for (const double x : ticks(plot.x_low, plot.x_high, x_step)) {
    const double at = plot.x(x * plot.unit_mm);
    svg += line("axis", at, base, at, base + 8.0);
    svg += text(at, base + 34.0, "middle", tick_label(x, x_step));
  }
  const double y_step = nice_step(2.0 * plot.limit, 5.0);
  for (const double y : ticks(-plot.limit, plot.limit, y_step)) {
    const double at = plot.y(y * plot.unit_mm);
    svg += line("axis", kLeft - 8.0, at, kLeft, at);
    svg += text(kLeft - 14.0, at + 8.0, "end", tick_label(y, y_step));
  }
  svg += text(kWidth - kRight, kHeight - 8.0, "end", std::string("x, ") + name + ", to the tip");
  svg +=
      text(kLeft, 30.0, "start", std::string("offset, ") + name + "; up is toward the left face");
  return svg;
}

std::string tolerance_lines(const Plot& plot, const ReportSettings& settings) {
  if (!settings.tolerance_mm) return "";
  std::string svg;
  for (const double sign : {1.0, -1.0}) {
    const double y = plot.y(sign * *settings.tolerance_mm);
    svg += line("tolerance", kLeft, y, kWidth - kRight, y);
  }
  svg += text(kWidth - kRight - 8.0, plot.y(*settings.tolerance_mm) - 8.0, "end", "tolerance");
  return svg;
}

using Run = std::vector<const EdgeStation*>;

std::vector<Run> seen_runs(const EdgeResult& result) {
  std::vector<Run> runs(1);
  for (const EdgeStation& station : result.stations) {
    if (measured(station.centreline_offset_mm)) {
      runs.back().push_back(&station);
    } else if (!runs.back().empty()) {
      runs.emplace_back();
    }
  }
  if (runs.back().empty()) runs.pop_back();
  return runs;
}

std::string shape(const char* element, const std::string& points) {
  return std::string("<") + element + " points=\"" + points + "\"/>\n";
}

std::string curves(const Plot& plot, const std::vector<Run>& runs) {
  std::string bands;
  std::string lines;
  for (const Run& run : runs) {
    std::string outline;
    std::string middle;
    for (const EdgeStation* station : run) {
      const Measured& c = *station->centreline_offset_mm;
      outline += plot.point(station->x_mm, c.value + U95(c));
      middle += plot.point(station->x_mm, c.value);
    }
    for (auto station = run.rbegin(); station != run.rend(); ++station) {
      const Measured& c = *(*station)->centreline_offset_mm;
      outline += plot.point((*station)->x_mm, c.value - U95(c));
    }
    bands += shape("polygon class=\"band\"", outline);
    lines += shape("polyline class=\"offset\"", middle);
  }
  return bands + lines;
}

/// Grey where nothing was seen, so that a gap is not read as zero.
std::string unseen(const Plot& plot, const std::vector<Run>& runs) {
  std::string svg;
  for (std::size_t i = 0; i + 1 < runs.size(); ++i) {
    const double from = plot.x(runs[i].back()->x_mm);
    const double to = plot.x(runs[i + 1].front()->x_mm);
    svg += "<rect class=\"unseen\" x=\"" + coordinate(from) + "\" y=\"" + coordinate(kTop) +
           "\" width=\"" + coordinate(to - from) + "\" height=\"" +
           coordinate(kHeight - kTop - kBottom) + "\"/>\n";
  }
  return svg;
}

std::string worst_mark(const Plot& plot, const EdgeResult& result) {
  const std::optional<Measured> worst = measured(result.centreline_offset_worst_mm);
  if (!worst) return "";
  return "<circle class=\"worst\" cx=\"" + coordinate(plot.x(result.worst_x_mm)) + "\" cy=\"" +
         coordinate(plot.y(worst->value)) + "\" r=\"10\"/>\n";
}

}  // namespace

std::string offset_svg(const EdgeResult& result, const ReportSettings& settings) {
  const std::vector<Run> runs = seen_runs(result);
  if (runs.empty()) return "<p>Not resolved by this photo.</p>\n";
  const Plot plot = plot_for(result, settings);
  std::string svg = "<svg viewBox=\"0 0 " + coordinate(kWidth) + " " + coordinate(kHeight) +
                    "\" role=\"img\" aria-label=\"Centreline offset along the blade with its 95 "
                    "percent interval\">\n";
  svg += unseen(plot, runs) + curves(plot, runs);
  svg += line("middle", kLeft, plot.y(0.0), kWidth - kRight, plot.y(0.0));
  svg += tolerance_lines(plot, settings) + axes(plot, settings.unit) + worst_mark(plot, result);
  return svg +
         "</svg>\n<p class=\"quiet\">Line: offset. Band: its 95 % interval. Dash-dot: the "
         "middle of the flats. Grey: not seen. Circle: the worst place.</p>\n";
}

}  // namespace evenbevel
