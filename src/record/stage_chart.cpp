#include "record/stage_chart.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "record/numbers.hpp"
#include "report/svg_pieces.hpp"

namespace evenbevel {
namespace {

constexpr double kWidth = 900.0, kHeight = 420.0;
constexpr double kLeft = 140.0, kRight = 20.0, kTop = 46.0, kBottom = 92.0;
constexpr double kBase = kHeight - kBottom;
constexpr double kNarrowScreenLetter = 17.0;  // About as wide as one is there.

struct Plot {
  double low = 0.0, high = 1.0;
  std::size_t count = 1;
  bool plus_down = false;

  double slot_width() const { return (kWidth - kLeft - kRight) / static_cast<double>(count); }
  /// Curves stand side by side, so that their bars are told apart.
  double x(std::size_t slot, std::size_t curve, std::size_t curves) const {
    const double middle = 0.5 * static_cast<double>(curves - 1);
    const double aside = 0.12 * (static_cast<double>(curve) - middle);
    return kLeft + (static_cast<double>(slot) + 0.5 + aside) * slot_width();
  }
  double y(double value) const {
    const double up = (value - low) / (high - low) * (kBase - kTop);
    return plus_down ? kTop + up : kBase - up;
  }
};

/// The lower end of its interval, as far as the quantity can be.
double lowest(const RecordedValue& value, const StageChart& chart) {
  const double low = value.value - value.U95;
  return chart.around_zero ? low : std::max(low, std::min(0.0, value.value));
}

Plot plot_for(const StageChart& chart) {
  constexpr double kLeastHalf = 0.01, kBeyond = 1.08;
  Plot plot{std::numeric_limits<double>::infinity(), -std::numeric_limits<double>::infinity(),
            chart.slots.size(), chart.plus_down};
  for (const StageSlot& slot : chart.slots) {
    for (const auto& value : slot.values) {
      if (!value) continue;
      plot.low = std::min(plot.low, lowest(*value, chart));
      plot.high = std::max(plot.high, value->value + value->U95);
    }
  }
  const double middle = chart.around_zero ? 0.0 : 0.5 * (plot.low + plot.high);
  const double half =
      std::max({kLeastHalf, kBeyond * (plot.high - middle), kBeyond * (middle - plot.low)});
  const bool at_zero = !chart.around_zero && plot.low >= 0.0 && middle < half;
  plot.high = middle + half;
  plot.low = at_zero ? 0.0 : middle - half;
  return plot;
}

const char* pen_of(std::size_t curve) {
  constexpr std::array kPens{"one", "two", "three"};
  return kPens.at(curve);
}

std::string point(double x, double y) { return coordinate(x) + "," + coordinate(y) + " "; }

/// Entries that show the quantity, one after the other.
std::string curve_svg(const Plot& plot, const StageChart& chart, std::size_t curve) {
  const std::string pen = pen_of(curve);
  std::string upper, lower, middle, bars;
  for (std::size_t i = 0; i < chart.slots.size(); ++i) {
    const std::optional<RecordedValue>& value = chart.slots[i].values[curve];
    if (!value) continue;
    const double x = plot.x(i, curve, chart.curves.size());
    const double top = plot.y(value->value + value->U95);
    const double bottom = plot.y(lowest(*value, chart));
    upper += point(x, top);
    lower.insert(0, point(x, bottom));
    middle += point(x, plot.y(value->value));
    const std::string style = "curve " + pen + " bar";
    bars += line(style.c_str(), x, top, x, bottom) + line(style.c_str(), x - 9, top, x + 9, top) +
            line(style.c_str(), x - 9, bottom, x + 9, bottom) + "<circle class=\"dot " + pen +
            "\" cx=\"" + coordinate(x) + "\" cy=\"" + coordinate(plot.y(value->value)) +
            "\" r=\"7\"/>\n";
  }
  return "<polygon class=\"band " + pen + "\" points=\"" + upper + lower +
         "\"/>\n<polyline class=\"curve " + pen + "\" points=\"" + middle + "\"/>\n" + bars;
}

/// @param unit_is  What one tick of 1 is, in the values' unit.
std::string y_ticks(const Plot& plot, const StageChart& chart, const char* unit, double unit_is) {
  std::string svg;
  const double step = nice_step((plot.high - plot.low) / unit_is, 5.0);
  for (const double y : ticks(plot.low / unit_is, plot.high / unit_is, step)) {
    const double at = plot.y(y * unit_is);
    svg += line("axis", kLeft - 8.0, at, kLeft, at) +
           text(kLeft - 14.0, at + 8.0, "end",
                (chart.around_zero && y > 0.5 * step ? "+" : "") + tick_label(y, step));
  }
  return svg + text(kLeft, 30.0, "start", chart.y_name + ", " + unit);
}

std::string y_axis(const Plot& plot, const StageChart& chart) {
  if (!chart.unit.empty())
    return "<g>\n" + y_ticks(plot, chart, chart.unit.c_str(), 1.0) + "</g>\n";
  if (chart.degrees) return "<g>\n" + y_ticks(plot, chart, "deg", 1.0) + "</g>\n";
  return "<g class=\"mm\">\n" + y_ticks(plot, chart, "mm", 1.0) + "</g>\n<g class=\"in\">\n" +
         y_ticks(plot, chart, "in", kMmPerInch) + "</g>\n";
}

/// Letters, not bytes; the rest of a character is never cut off.
std::string cut_to(const std::string& words, std::size_t letters) {
  std::size_t seen = 0;
  for (std::size_t at = 0; at < words.size(); ++at) {
    if ((static_cast<unsigned char>(words[at]) & 0xC0U) == 0x80U) continue;
    if (seen++ == letters) return words.substr(0, at) + "\u2026";
  }
  return words;
}

/// A stage's words on one line, or on two, broken at a blank.
std::array<std::string, 2> lines_of(const std::string& words, std::size_t letters) {
  const std::string whole = cut_to(words, letters);
  const std::size_t blank = words.rfind(' ', letters);
  if (whole == words || blank == std::string::npos || blank == 0) return {whole, ""};
  return {words.substr(0, blank), cut_to(words.substr(blank + 1), letters)};
}

/// As many stages as there is room for; all of them are said by the slider.
std::string x_axis(const Plot& plot, const StageChart& chart) {
  constexpr double kNarrowest = 100.0;
  const auto every =
      static_cast<std::size_t>(std::max(1.0, std::ceil(kNarrowest / plot.slot_width())));
  const double room = plot.slot_width() * static_cast<double>(every);
  const auto letters = static_cast<std::size_t>(std::max(3.0, room / kNarrowScreenLetter - 1.0));
  std::string svg = line("axis", kLeft, kBase, kWidth - kRight, kBase);
  for (std::size_t i = 0; i < chart.slots.size(); i += every) {
    const double x = plot.x(i, 0, 1);
    const auto [first, second] = lines_of(chart.slots[i].label, letters);
    svg += line("axis", x, kBase, x, kBase + 8.0) + text(x, kBase + 36.0, "middle", first);
    if (!second.empty()) svg += text(x, kBase + 70.0, "middle", second);
  }
  return svg;
}

std::string said_of(const StageChart& chart, const StageSlot& slot, LengthUnit unit) {
  std::string words = slot.label;
  for (std::size_t curve = 0; curve < chart.curves.size(); ++curve) {
    words += (curve == 0 ? ": " : "; ") +
             (unit == LengthUnit::mm ? chart.curves[curve].mm : chart.curves[curve].in) + " ";
    if (!slot.values[curve]) {
      words += "not measured";
      continue;
    }
    const Printed number = printed_value(*slot.values[curve], unit);
    words += number.value + ", U95 " + number.U95;
  }
  return words;
}

std::string slots_svg(const Plot& plot, const StageChart& chart) {
  std::string svg;
  for (std::size_t i = 0; i < chart.slots.size(); ++i) {
    const InUnits said =
        in_units([&](LengthUnit unit) { return said_of(chart, chart.slots[i], unit); });
    svg += "<rect class=\"slot\" x=\"" +
           coordinate(kLeft + static_cast<double>(i) * plot.slot_width()) + "\" y=\"" +
           coordinate(kTop) + "\" width=\"" + coordinate(plot.slot_width()) + "\" height=\"" +
           coordinate(kBase - kTop) + "\" data-mm=\"" + escaped(said.mm) + "\" data-in=\"" +
           escaped(said.in) + "\"><title>" + escaped(said.mm + " (" + said.in + ")") +
           "</title></rect>\n";
  }
  return svg;
}

std::string legend(const StageChart& chart) {
  std::string html = "<p class=\"quiet\">";
  for (std::size_t curve = 0; curve < chart.curves.size(); ++curve) {
    const std::string pen = pen_of(curve);
    std::string drawn = "<rect class=\"band " + pen;
    drawn += "\" x=\"0\" y=\"2\" width=\"60\" height=\"16\"/><line class=\"curve " + pen;
    drawn += "\" x1=\"0\" y1=\"10\" x2=\"60\" y2=\"10\"/>";
    html += key(drawn, InUnits{chart.curves[curve].mm + ", with its 95 % band",
                               chart.curves[curve].in + ", with its 95 % band"});
  }
  return html + "</p>\n";
}

}  // namespace

std::string stage_chart_html(const StageChart& given) {
  StageChart chart = given;
  std::erase_if(chart.slots, [](const StageSlot& slot) {
    return std::ranges::none_of(slot.values, [](const auto& v) { return v.has_value(); });
  });
  if (chart.slots.empty()) return "";
  const Plot plot = plot_for(chart);
  std::string svg = "<div class=\"chart\">\n<svg viewBox=\"0 0 " + coordinate(kWidth) + " " +
                    coordinate(kHeight) + "\" role=\"img\" aria-label=\"" + escaped(chart.name) +
                    "\">\n";
  for (std::size_t curve = 0; curve < chart.curves.size(); ++curve) {
    svg += curve_svg(plot, chart, curve);
  }
  if (chart.around_zero) svg += line("middle", kLeft, plot.y(0.0), kWidth - kRight, plot.y(0.0));
  svg += x_axis(plot, chart) + y_axis(plot, chart) + slots_svg(plot, chart) + "</svg>\n";
  svg += "<input class=\"place\" type=\"range\" autocomplete=\"off\" min=\"0\" max=\"" +
         std::to_string(chart.slots.size() - 1) +
         "\" value=\"0\" aria-label=\"Stage in the chart: " + escaped(chart.name) +
         "\">\n<output></output>\n";
  return svg + legend(chart) + "</div>\n";
}

}  // namespace evenbevel
