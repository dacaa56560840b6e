#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenbevel/record.hpp"
#include "report/page.hpp"

namespace evenbevel {

/// One entry's values for each curve.
struct StageSlot {
  std::string label = {};
  std::vector<std::optional<RecordedValue>> values = {};
};

/// Quantities from stage to stage with their 95 % bands, lengths in both display units. For the
/// page's script it is a chart like those of the reports.
struct StageChart {
  std::string name = {};
  std::string y_name = {};
  std::vector<InUnits> curves = {};   ///< One to three.
  std::vector<StageSlot> slots = {};  ///< Oldest first.
  bool around_zero = false;           ///< Else of what is never below zero.
  bool plus_down = false;
  bool degrees = false;   ///< Angles; else lengths ...
  std::string unit = {};  ///< ... unless the unit is named here: "a cm2".
};

/// Empty when there is nothing to show.
std::string stage_chart_html(const StageChart& chart);

}  // namespace evenbevel
