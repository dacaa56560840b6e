#include "stations.hpp"

#include <algorithm>
#include <cmath>

#include "along.hpp"

namespace evenbevel::edge {
namespace {

std::vector<BudgetLine> mean_budget(const std::vector<EdgeStation>& stations) {
  std::vector<BudgetLine> mean;
  double count = 0.0, first_mm = 0.0, last_mm = 0.0;
  for (const EdgeStation& station : stations) {
    if (!station.centreline_offset_mm) continue;
    if (count == 0.0) first_mm = station.x_mm;
    last_mm = station.x_mm;
    count += 1.0;
    if (mean.empty()) mean.assign(station.budget.begin(), station.budget.end());
    for (std::size_t i = 0; count > 1.0 && i < mean.size(); ++i) mean[i].u += station.budget[i].u;
  }
  // Neighbouring stations share the smooth curve, however close they are: counted by the mm.
  constexpr double kSharedMm = 4.0, kSharedRimMm = 0.5 * kRimWaveMm;
  const double independent = std::max((last_mm - first_mm) / kSharedMm, 1.0);
  const double independent_rims = std::max((last_mm - first_mm) / kSharedRimMm, 1.0);
  for (BudgetLine& line : mean) line.u /= count;
  // Lines carried along the blade are off everywhere together.
  const bool carried = std::any_of(mean.begin(), mean.end(), [](const BudgetLine& line) {
    return line.cause == kCarried && line.u > 0.0;
  });
  for (BudgetLine& line : mean) {
    if (line.cause == kEdgeLocation) line.u /= std::sqrt(independent);
    if (line.cause == kFlatsLocation && !carried) line.u /= std::sqrt(independent_rims);
  }
  return mean;
}

}  // namespace

double toward_left(double angle_rad, Tip tip) { return tip == Tip::left ? angle_rad : -angle_rad; }

MeanOffset mean_offset(const std::vector<EdgeStation>& stations) {
  double sum = 0.0, count = 0.0;
  for (const EdgeStation& station : stations) {
    if (!station.centreline_offset_mm) continue;
    sum += station.centreline_offset_mm->value;
    count += 1.0;
  }
  if (count == 0.0) return {};
  const std::vector<BudgetLine> budget = mean_budget(stations);
  return {combine(sum / count, budget), budget};
}

std::optional<Measured> mean_of(const std::vector<EdgeStation>& stations,
                                std::optional<Measured> EdgeStation::*which) {
  double value = 0.0, u = 0.0;
  int count = 0;
  for (const EdgeStation& s : stations) {
    if (!(s.*which)) continue;
    value += (s.*which)->value;
    u += (s.*which)->u;
    ++count;
  }
  if (count == 0) return std::nullopt;
  return Measured{value / count, u / count};
}

void summarise(EdgeResult& result, const MeanOffset& mean) {
  result.centreline_offset_mm = mean.mm;
  for (const BudgetLine& line : mean.budget) {
    result.budget.push_back({"centreline_offset", line});
  }
  int seen = 0;
  const EdgeStation* worst = nullptr;
  for (const EdgeStation& s : result.stations) {
    if (!s.centreline_offset_mm) continue;
    ++seen;
    if (worst == nullptr ||
        std::abs(s.centreline_offset_mm->value) > std::abs(worst->centreline_offset_mm->value)) {
      worst = &s;
    }
  }
  result.coverage = result.stations.empty()
                        ? 0.0
                        : static_cast<double>(seen) / static_cast<double>(result.stations.size());
  if (worst != nullptr) {
    const Measured& c = *worst->centreline_offset_mm;
    result.centreline_offset_worst_mm = c;
    result.worst_x_mm = worst->x_mm;
    result.symmetry_mm = Measured{2.0 * std::abs(c.value), 2.0 * c.u, c.dof};
    for (const BudgetLine& line : worst->budget) {
      result.budget.push_back({"centreline_offset_worst", line});
    }
  }
  result.line_gap_mm = mean_of(result.stations, &EdgeStation::line_gap_mm);
  result.land_width_mm = mean_of(result.stations, &EdgeStation::land_width_mm);
  result.land_taper_mm = land_taper_mm(result.stations);
  if (result.land_taper_mm)
    result.budget.push_back({"land_taper", {kLight, result.land_taper_mm->u}});
  result.facet_width_left_mm = mean_of(result.stations, &EdgeStation::facet_width_left_mm);
  result.facet_width_right_mm = mean_of(result.stations, &EdgeStation::facet_width_right_mm);
  if (result.facet_width_left_mm && result.centreline_offset_mm) {
    // wL - wR = -2c: what moves all borders outward alike leaves the difference alone.
    result.facet_width_difference_mm =
        Measured{result.facet_width_left_mm->value - result.facet_width_right_mm->value,
                 2.0 * result.centreline_offset_mm->u, result.centreline_offset_mm->dof};
  }
}

}  // namespace evenbevel::edge
