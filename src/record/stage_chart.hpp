#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenbevel/record.hpp"

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
  std::vector<std::string> curves = {};  ///< One or two.
  std::vector<StageSlot> slots = {};     ///< Oldest first.
  bool around_zero = false;
};

/// Empty when there is nothing to show.
std::string stage_chart_html(const StageChart& chart);

}  // namespace evenbevel
