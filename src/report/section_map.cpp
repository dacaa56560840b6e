#include "report/section_map.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/LU>

#include "report/choil_quantities.hpp"
#include "report/display.hpp"

namespace evenbevel {

namespace {

struct Axis {
  Eigen::Vector2d edge_px, down;
};

/// Where both halves meet, at each depth; a straight line through these.
std::optional<Axis> axis_between_halves(const std::vector<ChoilDepth>& depths) {
  std::vector<Eigen::Vector3d> rows;  // depth and the axis there
  for (const ChoilDepth& depth : depths) {
    const std::optional<Measured> left = measured(depth.half_left_mm);
    const std::optional<Measured> right = measured(depth.half_right_mm);
    if (!left || !right || !depth.left_px || !depth.right_px) continue;
    const double share = left->value / (left->value + right->value);
    const Eigen::Vector2d q = *depth.left_px + share * (*depth.right_px - *depth.left_px);
    if (q.allFinite()) rows.emplace_back(depth.depth_mm, q.x(), q.y());
  }
  constexpr std::size_t kLeast = 2;
  if (rows.size() < kLeast) return std::nullopt;
  Eigen::Vector3d mean = Eigen::Vector3d::Zero();
  for (const Eigen::Vector3d& row : rows) mean += row / static_cast<double>(rows.size());
  double spread = 0.0;
  Eigen::Vector2d along = Eigen::Vector2d::Zero();
  for (const Eigen::Vector3d& row : rows) {
    spread += (row.x() - mean.x()) * (row.x() - mean.x());
    along += (row.x() - mean.x()) * (row - mean).tail<2>();
  }
  if (!(along.norm() > 0.0)) return std::nullopt;
  return Axis{mean.tail<2>() - mean.x() * along / spread, along.normalized()};
}

std::optional<Axis> axis_of(const ChoilResult& result) {
  if (const auto axis = axis_between_halves(choil_stations(result))) return axis;
  if (!(result.axis_px.norm() > 0.5)) return std::nullopt;
  return Axis{result.edge_px, result.axis_px.normalized()};
}

}  // namespace

std::optional<SectionMap> SectionMap::of(const ChoilResult& result, const Photo& photo) {
  constexpr std::size_t kLeast = 2;
  const std::vector<ChoilDepth>& depths = choil_stations(result);
  const std::optional<Axis> axis = axis_of(result);
  if (depths.size() < kLeast || !axis) return std::nullopt;
  SectionMap map;
  const Eigen::Vector2d& down = axis->down;
  // Edge down, right is a quarter turn from the way to the spine; a mirroring orientation swaps it.
  const double handed = to_upright(photo).determinant();
  map.turn_ << -handed * down.y(), handed * down.x(), down.x(), down.y();
  map.edge_px_ = axis->edge_px;
  for (const ChoilDepth& depth : depths) {
    for (const auto& place : {depth.left_px, depth.right_px}) {
      if (!place || !place->allFinite()) continue;
      const Eigen::Vector2d p = map.section_of(*place);
      map.deepest_px_ = std::max(map.deepest_px_, p.y());
      map.widest_px_ = std::max(map.widest_px_, std::abs(p.x()));
    }
  }
  if (!(map.deepest_px_ > 1.0) || !(map.widest_px_ > 0.5)) return std::nullopt;
  return map;
}

}  // namespace evenbevel
