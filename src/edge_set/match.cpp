#include "match.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "uncertainty/neighbours.hpp"

namespace evenbevel::edges {
namespace {

constexpr double kLeastOverlapMm = 10.0;
constexpr double kPlungeShiftU = 0.5;  // Plunge line midpoints in two photos.
constexpr double kEndShiftU = 1.5;     // Ends of the stretch that was measured,
constexpr double kAlignedU = 0.3;      // and after the shapes have been laid over each other.
constexpr double kShapeNoiseMm = 0.003;

const std::optional<Measured>& width_of(const EdgeStation& station) {
  return station.land_width_mm ? station.land_width_mm : station.line_gap_mm;
}

double step_of(const EdgeResult& result) {
  if (result.stations.size() < 2) return 1.0;
  return (result.stations.back().x_mm - result.stations.front().x_mm) /
         static_cast<double>(result.stations.size() - 1);
}

template <class Pick>
std::optional<double> interpolate(const EdgeResult& result, double x_mm, Pick pick) {
  const std::vector<EdgeStation>& all = result.stations;
  auto above = std::lower_bound(all.begin(), all.end(), x_mm,
                                [](const EdgeStation& s, double x) { return s.x_mm < x; });
  auto below = above;
  while (above != all.end() && !pick(*above)) ++above;
  while (below != all.begin() && (below == all.end() || below->x_mm > x_mm || !pick(*below))) {
    --below;
  }
  if (above == all.end() || !pick(*below) || below->x_mm > x_mm) return std::nullopt;
  const double gap = above->x_mm - below->x_mm;
  if (gap > 3.5 * step_of(result)) return std::nullopt;
  const double share = gap > 0.0 ? (x_mm - below->x_mm) / gap : 0.0;
  return pick(*below)->value + share * (pick(*above)->value - pick(*below)->value);
}

struct Differences {
  std::vector<double> offset, width;
};

/// RMS about the mean.
double scatter(const std::vector<double>& values) {
  if (values.empty()) return 0.0;
  double mean = 0.0, sum2 = 0.0;
  for (const double v : values) mean += v / static_cast<double>(values.size());
  for (const double v : values) sum2 += (v - mean) * (v - mean);
  return std::sqrt(sum2 / static_cast<double>(values.size()));
}

Differences differences(const EdgeResult& first, const EdgeResult& second, double shift_mm) {
  Differences out;
  for (const EdgeStation& station : first.stations) {
    if (!station.centreline_offset_mm) continue;
    const double x = station.x_mm - shift_mm;
    const std::optional<double> offset = offset_at(second, x);
    if (!offset) continue;
    out.offset.push_back(station.centreline_offset_mm->value - *offset);
    const std::optional<double> width =
        interpolate(second, x, [](const EdgeStation& s) { return width_of(s); });
    if (width_of(station) && width) out.width.push_back(width_of(station)->value - *width);
  }
  return out;
}

struct Prior {
  double shift_mm, u_mm;
};

Prior prior_of(const EdgeResult& first, const EdgeResult& second) {
  if (first.x_from_plunge && second.x_from_plunge) return {0.0, kPlungeShiftU};
  const double begin = first.stations.front().x_mm - second.stations.front().x_mm;
  const double end = first.stations.back().x_mm - second.stations.back().x_mm;
  return {0.5 * (begin + end), std::hypot(kEndShiftU, 0.5 * (begin - end))};
}

}  // namespace

std::optional<double> offset_at(const EdgeResult& result, double x_mm) {
  return interpolate(result, x_mm, [](const EdgeStation& s) { return s.centreline_offset_mm; });
}

const EdgeStation* station_near(const EdgeResult& result, double x_mm) {
  const EdgeStation* nearest = nullptr;
  double least = 1.5 * step_of(result);
  for (const EdgeStation& station : result.stations) {
    if (!station.centreline_offset_mm || std::abs(station.x_mm - x_mm) > least) continue;
    least = std::abs(station.x_mm - x_mm);
    nearest = &station;
  }
  return nearest;
}

std::optional<Match> match_stations(const EdgeResult& first, const EdgeResult& second) {
  if (first.stations.empty() || second.stations.empty()) return std::nullopt;
  constexpr int kSteps = 30;  // To three standard uncertainties on either side.
  const Prior prior = prior_of(first, second);
  std::optional<Match> best;
  double least = std::numeric_limits<double>::infinity();
  for (int step = -kSteps; step <= kSteps; ++step) {
    const double away = 3.0 * step / kSteps;
    const double shift = prior.shift_mm + away * prior.u_mm;
    const Differences apart = differences(first, second, shift);
    const double overlap = static_cast<double>(apart.offset.size()) * step_of(first);
    if (overlap < kLeastOverlapMm) continue;
    const double misfit = std::hypot(scatter(apart.offset), 0.5 * scatter(apart.width));
    const double chi2 =
        independent(overlap, kBorderSharedMm) * std::pow(misfit / kShapeNoiseMm, 2) + away * away;
    if (chi2 >= least) continue;
    least = chi2;
    best = Match{shift, std::min(prior.u_mm, kAlignedU), misfit, overlap};
  }
  return best;
}

}  // namespace evenbevel::edges
