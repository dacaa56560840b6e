#include "far_border.hpp"

#include <algorithm>
#include <cmath>

#include "evenbevel/fit.hpp"

namespace evenbevel::choil {
namespace {

using Points = std::vector<Eigen::Vector2d>;

double squares(const Points& points, const Straight& line) {
  double sum = 0.0;
  for (const Eigen::Vector2d& p : points) {
    sum += std::pow(p.y() - line.value - line.slope * p.x(), 2);
  }
  return sum;
}

/// (rows from `origin`, column).
Points points_of(std::span<const int> column, std::size_t first, std::size_t end,
                 std::size_t origin) {
  Points out;
  for (std::size_t i = first; i < end; ++i) {
    out.emplace_back(static_cast<double>(i) - static_cast<double>(origin), column[i]);
  }
  return out;
}

/// By how much two straight lines that meet at the row describe the rows about better than one, in
/// squared columns; 0 when they do not meet or hardly turn.
double gain_of_turn(std::span<const int> column, std::size_t row, std::size_t about) {
  constexpr double kLeastTurn = 3.0;                 // Columns.
  constexpr double kMostStep = 2.0, kRowsOff = 2.0;  // Columns, and rows by which they may miss.
  const std::size_t first = row > about ? row - about : 0;
  const std::size_t end = std::min(row + about, column.size());
  const Points above = points_of(column, first, row, row), below = points_of(column, row, end, row),
               all = points_of(column, first, end, row);
  const auto upper = straight_through(above), lower = straight_through(below),
             one = straight_through(all);
  if (!upper || !lower || !one || below.size() < about / 2) return 0.0;
  const double turn = std::abs(upper->slope - lower->slope);
  if (turn * static_cast<double>(above.size()) < kLeastTurn) return 0.0;
  if (std::abs(upper->value - lower->value) > kMostStep + kRowsOff * turn) return 0.0;
  return squares(all, *one) - squares(above, *upper) - squares(below, *lower);
}

}  // namespace

std::size_t first_below_turn(std::span<const int> column, double row_mm) {
  constexpr double kSearchedMm = 6.0, kStraightMm = 2.0;
  constexpr std::size_t kLeastRows = 3;
  const auto searched = static_cast<std::size_t>(kSearchedMm / row_mm);
  const auto about = static_cast<std::size_t>(kStraightMm / row_mm);
  std::size_t best = 0;
  double most = 0.0;
  for (std::size_t row = kLeastRows; row < std::min(searched, column.size()); ++row) {
    const double gain = gain_of_turn(column, row, about);
    if (gain <= most) continue;
    most = gain;
    best = row;
  }
  return best;
}

std::optional<Straight> course_below(std::span<const Eigen::Vector2d> border_mm,
                                     double edge_down_mm) {
  constexpr double kClearMm = 0.3, kBelowMm = 2.0;
  Points below;
  for (const Eigen::Vector2d& p : border_mm) {
    const double depth = p.y() - edge_down_mm;
    if (depth > kClearMm && depth < kClearMm + kBelowMm) below.emplace_back(depth, p.x());
  }
  return straight_through(below);
}

bool far_border_runs_on(std::span<const Eigen::Vector2d> border_mm, double edge_down_mm,
                        double above_mm) {
  constexpr double kMostAboveMm = 0.5, kOffMm = 0.06;
  const std::optional<Straight> course = course_below(border_mm, edge_down_mm);
  if (!course) return false;
  std::vector<double> off;
  for (const Eigen::Vector2d& p : border_mm) {
    const double depth = p.y() - edge_down_mm;
    if (depth > 0.0 || depth < -std::min(above_mm, kMostAboveMm)) continue;
    off.push_back(std::abs(p.x() - course->value - course->slope * depth));
  }
  return !off.empty() && median(off) < kOffMm;
}

}  // namespace evenbevel::choil
