#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenbevel/statement.hpp"
#include "report/page.hpp"

namespace evenbevel {

/// One place along a chart, with a value for each of its curves.
struct ChartSlot {
  double x_mm = 0.0;
  std::vector<std::optional<Stated>> y_mm;
};

/// Curves with their 95 % bands over a length, in both display units. Beside it stands what is
/// under the pointer, the finger or the slider, for that is where the numbers are.
struct Chart {
  std::string name;                 ///< For those who hear it.
  std::string x_name, y_name;       ///< "x, to the tip"; the unit is put in.
  std::string x_word = "x";         ///< Before the place in what is said of it.
  std::vector<std::string> curves;  ///< One or two, in the legend's words.
  QuantityKind kind = QuantityKind::length;
  std::vector<ChartSlot> slots;  ///< In order of x.
  std::optional<double> tolerance_mm = {};
  std::optional<double> worst_x_mm = {};  ///< Of the first curve.
  std::string zero_words = {};            ///< What zero is; it is in the middle then, with a line.
  bool plus_down = false;                 ///< Plus is below.
};

/// SVG, slider, legend; a sentence when nothing was seen.
std::string chart_html(const Chart& chart);

}  // namespace evenbevel
