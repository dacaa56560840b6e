#include "along.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/Cholesky>
#include <Eigen/LU>

#include "border/light_bias.hpp"
#include "fit/straight.hpp"
#include "uncertainty/neighbours.hpp"

namespace evenbevel::edge {
namespace {

constexpr double kLeastSpanMm = 30.0;
constexpr std::size_t kLeastStations = 10;

bool long_enough(const std::vector<Eigen::Vector2d>& points) {
  return points.size() >= kLeastStations &&
         std::abs(points.back().x() - points.front().x()) >= kLeastSpanMm;
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
  const std::optional<Straight> line = straight_through(widths);
  if (!line) return std::nullopt;
  u_width_mm /= static_cast<double>(widths.size());
  const double length = std::abs(widths.back().x() - widths.front().x());
  const double u_own_mm = kPerMm / length * std::sqrt(2.0) * kOwnShare * u_width_mm;
  return combine(kPerMm * line->slope, {{kLight, u_own_mm}});
}

std::optional<Measured> bow_mm(const Placement& placed) {
  // Type B, px: what the lens model leaves of a straight line.
  constexpr double kLensPx = 0.1;
  // Toward the tip edge and rims drop away, seen from aside as a bend of the rims.
  constexpr double kDropMm = 0.5;
  if (placed.settings.stage != Stage::ground) return std::nullopt;
  std::vector<Eigen::Vector2d> middle;
  double px_per_mm = 0.0;
  for (const BandReadings& band : placed.bands) {
    if (!band.flat_high || !band.flat_low) continue;
    middle.emplace_back(band.s_mm, 0.5 * (band.flat_high->t_mm + band.flat_low->t_mm));
    px_per_mm = band.px_per_mm;
  }
  if (!long_enough(middle)) return std::nullopt;
  const double half = 0.5 * (middle.back().x() - middle.front().x());
  const double centre = 0.5 * (middle.back().x() + middle.front().x());
  Eigen::MatrixX3d design(static_cast<Eigen::Index>(middle.size()), 3);
  Eigen::VectorXd across(design.rows());
  for (Eigen::Index i = 0; i < design.rows(); ++i) {
    const double along = (middle[static_cast<std::size_t>(i)].x() - centre) / half;
    design.row(i) << 1.0, along, along * along;
    across[i] = middle[static_cast<std::size_t>(i)].y();
  }
  const Eigen::Matrix3d normal = design.transpose() * design;
  const Eigen::Vector3d arc = normal.ldlt().solve(design.transpose() * across);
  const double places = static_cast<double>(design.rows());
  const double scatter_mm = (across - design * arc).norm() / std::sqrt(places - 3.0);
  const double counted = std::min(independent(2.0 * half, kBorderSharedMm), places);
  const double u_mm = scatter_mm * std::sqrt(normal.inverse()(2, 2) * places / counted);
  const double lateral_mm = std::abs(placed.camera.t_mm - arc[0]);
  const double distance_mm = placed.camera.height_mm - placed.settings.reference_height_mm;
  return combine(-arc[2], {{kFlatsLocation, u_mm},
                           {kLight, light_bias::edge::kBend / px_per_mm},
                           {"lens", kLensPx / px_per_mm},
                           {kDepth, kDropMm * lateral_mm / distance_mm}});
}

}  // namespace evenbevel::edge
