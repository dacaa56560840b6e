#include "along.hpp"

#include <algorithm>
#include <cmath>

#include "law_check.hpp"

namespace evenbevel::edge {
namespace {

constexpr double kLeastStretchMm = 30.0;
constexpr std::size_t kLeastStations = 10;

/// y = centre + slope (x - x_mean), by least squares.
struct StraightLine {
  double x_mean = 0.0, y_mean = 0.0, slope = 0.0;

  double at(double x) const { return y_mean + slope * (x - x_mean); }
};

StraightLine line_through(const std::vector<Eigen::Vector2d>& points) {
  StraightLine line;
  for (const Eigen::Vector2d& p : points) line.x_mean += p.x(), line.y_mean += p.y();
  line.x_mean /= static_cast<double>(points.size());
  line.y_mean /= static_cast<double>(points.size());
  double xx = 0.0, xy = 0.0;
  for (const Eigen::Vector2d& p : points) {
    xx += (p.x() - line.x_mean) * (p.x() - line.x_mean);
    xy += (p.x() - line.x_mean) * (p.y() - line.y_mean);
  }
  line.slope = xx > 0.0 ? xy / xx : 0.0;
  return line;
}

bool long_enough(const std::vector<Eigen::Vector2d>& points) {
  return points.size() >= kLeastStations &&
         std::abs(points.back().x() - points.front().x()) >= kLeastStretchMm;
}

}  // namespace

std::optional<Measured> land_taper_mm(const std::vector<EdgeStation>& stations) {
  constexpr double kPerMm = 100.0;
  // What light does to a width it does along the whole blade, but for about half of it: type B.
  constexpr double kOwnShare = 0.5;
  std::vector<Eigen::Vector2d> widths;
  double u_width_mm = 0.0;
  for (const EdgeStation& station : stations) {
    if (!station.land_width_mm) continue;
    widths.emplace_back(station.x_mm, station.land_width_mm->value);
    u_width_mm += station.land_width_mm->u;
  }
  if (!long_enough(widths)) return std::nullopt;
  u_width_mm /= static_cast<double>(widths.size());
  const double length = std::abs(widths.back().x() - widths.front().x());
  return Measured{kPerMm * line_through(widths).slope,
                  kPerMm / length * std::sqrt(2.0) * kOwnShare * u_width_mm};
}

std::optional<Bow> bow_of(const Placement& placed) {
  // Type B, px: what the lens model leaves of a straight line, and what light does to a rim here
  // and not there.
  constexpr double kLensPx = 0.1, kLightPx = 0.1;
  if (placed.settings.stage != Stage::ground) return std::nullopt;
  const Datum datum = follow_rims(placed.bands);
  std::vector<Eigen::Vector2d> middle;
  std::vector<double> u_mm, px_per_mm;
  for (const BandReadings& band : placed.bands) {
    if (band.s_mm < datum.s_begin_mm || band.s_mm > datum.s_end_mm) continue;
    const Datum::Rims rims = datum.at(band.s_mm);
    middle.emplace_back(band.s_mm, 0.5 * (rims.high_mm + rims.low_mm));
    u_mm.push_back(rims.u_mid_mm);
    px_per_mm.push_back(band.px_per_mm);
  }
  if (!long_enough(middle)) return std::nullopt;
  const StraightLine straight = line_through(middle);
  std::size_t worst = 0;
  double bow_mm = 0.0;
  for (std::size_t i = 0; i < middle.size(); ++i) {
    const double off = middle[i].y() - straight.at(middle[i].x());
    if (std::abs(off) <= std::abs(bow_mm)) continue;
    bow_mm = off;
    worst = i;
  }
  Bow bow{.mm = {},
          .budget = {{kFlatsLocation, u_mm[worst]},
                     {kLight, kLightPx / px_per_mm[worst]},
                     {"lens", kLensPx / px_per_mm[worst]}}};
  bow.mm = combine(bow_mm, bow.budget);
  return bow;
}

}  // namespace evenbevel::edge
