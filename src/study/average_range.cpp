#include "average_range.hpp"

#include <algorithm>
#include <cmath>

#include "variance.hpp"

namespace evenbevel::studies {
namespace {

/// From this many ranges on, their mean's own scatter is left out of the constant, as the printed
/// tables do (common practice).
constexpr std::size_t kManyRanges = 16;

/// To four decimals, as tables print it: whoever does it by hand gets the same.
double as_printed(double constant) { return std::round(1e4 * constant) / 1e4; }

double sigma_per_range(std::size_t n, std::size_t ranges) {
  const RangeConstants constants = range_constants(static_cast<int>(n));
  if (ranges >= kManyRanges) return as_printed(1.0 / constants.d2);
  return as_printed(1.0 / constants.d2_star(static_cast<int>(ranges)));
}

double mean_of_cells(const Layout& layout, bool (*belongs)(const StudyCell&, std::size_t),
                     std::size_t index) {
  double sum = 0.0, count = 0.0;
  for (const StudyCell& cell : layout.cells) {
    if (!belongs(cell, index)) continue;
    sum += cell.mean();
    count += 1.0;
  }
  return sum / count;
}

double extent(const std::vector<double>& values) {
  const auto [low, high] = std::minmax_element(values.begin(), values.end());
  return *high - *low;
}

Spread person_spread(const RangeAnalysis& range, double repeatability, double readings_each) {
  const double seen = range.K2 * range.person_difference;
  const double variance = seen * seen - repeatability * repeatability / readings_each;
  return {.sigma = std::sqrt(std::max(variance, 0.0)), .set_to_zero = variance < 0.0};
}

}  // namespace

RangeAnalysis analyse_ranges(const Layout& layout, const StudySettings& settings) {
  const std::size_t parts = layout.parts.size(), persons = layout.persons.size();
  const std::size_t trials = layout.cells.front().values.size();
  RangeAnalysis out;
  for (const StudyCell& cell : layout.cells) {
    out.mean_range += cell.range() / static_cast<double>(layout.cells.size());
  }
  out.range_limit = range_constants(static_cast<int>(trials)).upper_factor() * out.mean_range;
  for (std::size_t person = 0; person < persons; ++person) {
    out.person_means.push_back(mean_of_cells(
        layout, [](const StudyCell& c, std::size_t i) { return c.person == i; }, person));
  }
  std::vector<double> part_means;
  for (std::size_t part = 0; part < parts; ++part) {
    part_means.push_back(mean_of_cells(
        layout, [](const StudyCell& c, std::size_t i) { return c.part == i; }, part));
  }
  out.person_difference = extent(out.person_means);
  out.part_range = extent(part_means);
  out.K1 = sigma_per_range(trials, layout.cells.size());
  out.spreads.repeatability.sigma = out.K1 * out.mean_range;
  if (persons > 1) {
    out.K2 = sigma_per_range(persons, 1);
    out.spreads.person =
        person_spread(out, out.spreads.repeatability.sigma, static_cast<double>(parts * trials));
  }
  if (parts > 1) {
    out.K3 = sigma_per_range(parts, 1);
    out.spreads.part = Spread{.sigma = out.K3 * out.part_range};
  }
  add_up(out.spreads, settings);
  return out;
}

}  // namespace evenbevel::studies
