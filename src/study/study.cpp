#include "evenbevel/study.hpp"

#include <algorithm>
#include <cmath>

#include "average_range.hpp"
#include "effects.hpp"
#include "evenbevel/error.hpp"
#include "layout.hpp"
#include "variance.hpp"

namespace evenbevel {
namespace {

using studies::Layout;

std::string joined(const std::vector<std::string>& names) {
  constexpr std::size_t kMost = 6;
  std::string text;
  for (std::size_t i = 0; i < std::min(names.size(), kMost); ++i) {
    text += (i == 0 ? "" : ", ") + names[i];
  }
  if (names.size() > kMost) text += " and " + std::to_string(names.size() - kMost) + " more";
  return text;
}

Remark unequal_cells(const Layout& layout) {
  std::vector<std::string> missing;
  for (const StudyCell& cell : layout.cells) {
    if (cell.values.empty()) missing.push_back(cell_name(layout, cell));
  }
  if (missing.empty()) {
    return remark<RemarkCode::unequal_cells>(layout.fewest(), layout.most());
  }
  return remark<RemarkCode::empty_cells>(layout.fewest(), layout.most(), joined(missing));
}

/// Whom and what to look at again.
std::vector<std::string> wide_ranges(const Layout& layout, const RangeAnalysis& range) {
  std::vector<std::string> names;
  for (const StudyCell& cell : layout.cells) {
    if (cell.range() > range.range_limit) names.push_back(cell_name(layout, cell));
  }
  return names;
}

std::vector<std::string> negative_variances(const StudySpreads& spreads) {
  std::vector<std::string> names;
  const auto add = [&names](const char* name, const std::optional<Spread>& spread) {
    if (spread && spread->set_to_zero) names.emplace_back(name);
  };
  add("person", spreads.person);
  add("interaction", spreads.interaction);
  add("part", spreads.part);
  return names;
}

void add_layout_warnings(StudyResult& result, const Layout& layout) {
  const bool crossed = layout.parts.size() > 1 && layout.persons.size() > 1;
  if (!result.balanced) {
    result.warnings.push_back(unequal_cells(layout));
  } else if (!result.range) {
    result.warnings.push_back(remark<RemarkCode::read_once>());
  }
  if (crossed && !studies::interaction_can_be_told(layout)) {
    result.warnings.push_back(remark<RemarkCode::interaction_not_told>());
  }
  if (layout.parts.size() < 2) {
    result.warnings.push_back(remark<RemarkCode::one_part>());
  }
}

void add_number_warnings(StudyResult& result, const Layout& layout) {
  if (result.range) {
    const std::vector<std::string> wide = wide_ranges(layout, *result.range);
    if (!wide.empty()) {
      result.warnings.push_back(remark<RemarkCode::wide_ranges>(joined(wide)));
    }
  }
  const std::vector<std::string> negative = negative_variances(result.variance.spreads);
  if (!negative.empty()) {
    result.warnings.push_back(remark<RemarkCode::variance_negative>(joined(negative)));
  }
  constexpr double kFewDof = 10.0;  // the interval of a spread then spans a factor of 2.5
  const VarianceAnalysis& variance = result.variance;
  const double dof = variance.pooled ? variance.pooled->dof : variance.lines.back().dof;
  if (dof < kFewDof) {
    result.warnings.push_back(remark<RemarkCode::few_repeats>(std::floor(dof)));
  }
}

}  // namespace

StudyResult study(std::span<const StudyReading> readings, const StudySettings& settings) {
  if (readings.size() < 2) {
    throw Error(readings.empty() ? "there is no reading to study"
                                 : "there is one reading only, and a spread needs two or more",
                "read every part two or three times, clamped anew each time");
  }
  const Layout layout = studies::lay_out(readings);
  StudyResult result{.parts = layout.parts,
                     .persons = layout.persons,
                     .cells = layout.cells,
                     .readings = layout.readings,
                     .balanced = layout.balanced(),
                     .variance = studies::analyse_variance(layout, settings),
                     .range = std::nullopt,
                     .warnings = {}};
  if (result.balanced && layout.fewest() >= 2) {
    result.range = studies::analyse_ranges(layout, settings);
  }
  add_layout_warnings(result, layout);
  add_number_warnings(result, layout);
  return result;
}

}  // namespace evenbevel
