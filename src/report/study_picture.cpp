#include "report/study_picture.hpp"

#include <algorithm>
#include <array>
#include <limits>

#include "report/page.hpp"
#include "report/study_words.hpp"
#include "report/svg_pieces.hpp"

namespace evenbevel {
namespace {

constexpr double kStudyWidth = 900.0, kStudyHeight = 420.0;
constexpr double kStudyLeft = 120.0, kStudyRight = 20.0, kStudyTop = 46.0, kStudyBase = 350.0;

/// Words and axes that hold lengths, once in each unit.
template <class Draw>
std::string in_both(ReadingKind kind, Draw draw) {
  if (kind != ReadingKind::length) return draw(LengthUnit::mm);
  return "<g class=\"mm\">\n" + draw(LengthUnit::mm) + "</g>\n<g class=\"in\">\n" +
         draw(LengthUnit::inch) + "</g>\n";
}

double unit_size(ReadingKind kind, LengthUnit unit) {
  return kind == ReadingKind::length && unit == LengthUnit::inch ? kMmPerInch : 1.0;
}

const char* unit_words(ReadingKind kind, LengthUnit unit) {
  if (kind == ReadingKind::angle) return ", deg";
  if (kind == ReadingKind::number) return "";
  return unit == LengthUnit::mm ? ", mm" : ", in";
}

std::string svg(double height, const std::string& name, const std::string& drawing) {
  return "<svg viewBox=\"0 0 " + coordinate(kStudyWidth) + " " + coordinate(height) +
         "\" role=\"img\" aria-label=\"" + escaped(name) + "\">\n" + drawing + "</svg>\n";
}

/// A shape and a colour for each person.
std::string mark(std::size_t person, double x, double y, const std::string& title) {
  static constexpr std::array kPens = {"one", "two", "three"};
  static constexpr std::size_t kShapes = 4;
  const std::string pen = std::string(" class=\"mark ") + kPens[person % kPens.size()] + "\"";
  const auto point = [&](double dx, double dy) {
    return coordinate(x + dx) + "," + coordinate(y + dy) + " ";
  };
  const std::string inner = title.empty() ? "/>" : "><title>" + escaped(title) + "</title></";
  const auto closed = [&](const char* element) {
    return title.empty() ? inner + "\n" : inner + element + ">\n";
  };
  switch (person % kShapes) {
    case 0:
      return "<circle" + pen + " cx=\"" + coordinate(x) + "\" cy=\"" + coordinate(y) +
             "\" r=\"7\"" + closed("circle");
    case 1:
      return "<polygon" + pen + " points=\"" + point(-7, -7) + point(7, -7) + point(7, 7) +
             point(-7, 7) + "\"" + closed("polygon");
    case 2:
      return "<polygon" + pen + " points=\"" + point(0, -9) + point(8, 6) + point(-8, 6) + "\"" +
             closed("polygon");
    default:
      return "<polygon" + pen + " points=\"" + point(0, -9) + point(9, 0) + point(0, 9) +
             point(-9, 0) + "\"" + closed("polygon");
  }
}

struct StudyPlot {
  double low = 0.0, high = 1.0;
  std::size_t parts = 1, persons = 1;

  double slot() const {
    return (kStudyWidth - kStudyLeft - kStudyRight) / static_cast<double>(parts);
  }
  /// The middle of a part's place, and of one person's within it.
  double x(std::size_t part) const {
    return kStudyLeft + slot() * (static_cast<double>(part) + 0.5);
  }
  double x(std::size_t part, std::size_t person) const {
    const double of_slot = (static_cast<double>(person) + 0.5) / static_cast<double>(persons) - 0.5;
    return x(part) + 0.8 * slot() * of_slot;
  }
  double y(double value) const {
    return kStudyBase - (value - low) / (high - low) * (kStudyBase - kStudyTop);
  }
};

StudyPlot plot_for(const StudyResult& result) {
  StudyPlot plot{.low = std::numeric_limits<double>::infinity(),
                 .high = -std::numeric_limits<double>::infinity(),
                 .parts = result.parts.size(),
                 .persons = result.persons.size()};
  for (const StudyCell& cell : result.cells) {
    for (const double value : cell.values) {
      plot.low = std::min(plot.low, value);
      plot.high = std::max(plot.high, value);
    }
  }
  const double margin = 0.05 * (plot.high - plot.low);
  const double least = margin > 0.0 ? margin : 0.5;  // all alike: a band of some height
  plot.low -= least;
  plot.high += least;
  return plot;
}

std::string value_axis(const StudyPlot& plot, const StudyReport& report, LengthUnit unit) {
  const double size = unit_size(report.kind, unit);
  const double step = nice_step((plot.high - plot.low) / size, 5.0);
  std::string drawing;
  for (const double tick : ticks(plot.low / size, plot.high / size, step)) {
    const double y = plot.y(tick * size);
    drawing += line("axis", kStudyLeft - 8.0, y, kStudyLeft, y);
    drawing += text(kStudyLeft - 14.0, y + 8.0, "end", tick_label(tick, step));
  }
  return drawing + text(kStudyLeft, 30.0, "start",
                        quantity_words(report.quantity) + unit_words(report.kind, unit));
}

/// Names where there is room for them.
std::string part_names(const StudyPlot& plot, const StudyResult& result) {
  constexpr double kLetter = 13.0;
  std::string drawing;
  double free_from = 0.0;
  for (std::size_t part = 0; part < plot.parts; ++part) {
    const std::string& name = result.parts[part];
    const double half = 0.5 * kLetter * static_cast<double>(name.size());
    if (plot.x(part) - half < free_from) continue;
    drawing += text(plot.x(part), kStudyBase + 34.0, "middle", name);
    free_from = plot.x(part) + half;
  }
  return drawing;
}

std::string marks(const StudyPlot& plot, const StudyReport& report) {
  const StudyResult& result = *report.result;
  std::string drawing;
  for (const StudyCell& cell : result.cells) {
    const double x = plot.x(cell.part, cell.person);
    const std::string who = plot.persons > 1 ? ", " + result.persons[cell.person] : std::string();
    for (const double value : cell.values) {
      drawing +=
          mark(cell.person, x, plot.y(value),
               result.parts[cell.part] + who + ": " + amount(value, report.kind, LengthUnit::mm));
    }
    if (cell.values.size() < 2) continue;
    const double half = std::min(14.0, 0.4 * plot.slot() / static_cast<double>(plot.persons));
    const double y = plot.y(cell.mean());
    drawing += line("axis", x - half, y, x + half, y);
  }
  return drawing;
}

std::string persons_key(const StudyResult& result) {
  if (result.persons.size() < 2) return "<p class=\"quiet\">Short lines: means.</p>\n";
  std::string html = "<p class=\"quiet\">";
  for (std::size_t person = 0; person < result.persons.size(); ++person) {
    html += key(mark(person, 30.0, 10.0, ""), result.persons[person]);
  }
  return html + "Short lines: means.</p>\n";
}

constexpr double kBarsLeft = 250.0, kBarStep = 56.0, kBarsTop = 20.0;

struct Bars {
  double most = 1.0;  ///< What the width shows.

  double x(double sigma) const {
    constexpr double kNumbers = 200.0;  // room for the value behind the bar, on a phone too
    return kBarsLeft + std::min(sigma / most, 1.0) * (kStudyWidth - kBarsLeft - kNumbers);
  }
};

std::string bar(const Bars& bars, const SpreadRow& row, double y, ReadingKind kind) {
  const double end = bars.x(row.spread.sigma);
  std::string drawing = text(kBarsLeft - 12.0, y + 24.0, "end", row.label);
  drawing += std::string("<rect class=\"band ") + (row.sum ? "one" : "two") + "\" x=\"" +
             coordinate(kBarsLeft) + "\" y=\"" + coordinate(y) + "\" width=\"" +
             coordinate(end - kBarsLeft) + "\" height=\"34\"/>\n";
  double behind = end;
  if (row.spread.interval95) {
    const double low = bars.x(row.spread.interval95->low);
    const double high = bars.x(row.spread.interval95->high);
    drawing += line("axis", low, y + 17.0, high, y + 17.0);
    drawing += line("axis", low, y + 9.0, low, y + 25.0);
    if (row.spread.interval95->high < bars.most) {
      drawing += line("axis", high, y + 9.0, high, y + 25.0);
    }
    behind = std::max(behind, high);
  }
  return drawing + in_both(kind, [&](LengthUnit unit) {
           return text(behind + 10.0, y + 25.0, "start",
                       small_amount(row.spread.sigma, kind, unit));
         });
}

}  // namespace

std::string readings_drawing(const StudyReport& report) {
  const StudyResult& result = *report.result;
  const StudyPlot plot = plot_for(result);
  std::string drawing = line("axis", kStudyLeft, kStudyBase, kStudyWidth - kStudyRight, kStudyBase);
  drawing += in_both(report.kind, [&](LengthUnit unit) { return value_axis(plot, report, unit); });
  drawing += part_names(plot, result) + marks(plot, report);
  return svg(kStudyHeight - 20.0, "Readings by part and person; the numbers are in the table below",
             drawing) +
         persons_key(result);
}

std::string spreads_drawing(const StudyReport& report) {
  const std::vector<SpreadRow> rows = spread_rows(report.result->variance.spreads);
  constexpr double kBeyond = 1.6;  // intervals of few persons reach far: cut off there
  double most = 0.0;
  for (const SpreadRow& row : rows) most = std::max(most, kBeyond * row.spread.sigma);
  if (most <= 0.0) return "<p>All readings are alike.</p>\n";
  const Bars bars{.most = most};
  std::string drawing;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    drawing += bar(bars, rows[i], kBarsTop + kBarStep * static_cast<double>(i), report.kind);
  }
  const double height = kBarsTop + kBarStep * static_cast<double>(rows.size());
  return svg(height, "Spreads as bars with their 95 percent intervals", drawing) +
         "<p class=\"quiet\">Bars: one standard deviation, blue for sums. Lines: its 95 % "
         "interval; without an "
         "end mark it reaches further. Spreads add in squares.</p>\n";
}

}  // namespace evenbevel
