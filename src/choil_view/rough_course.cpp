#include "rough_course.hpp"

#include <algorithm>
#include <span>
#include <vector>

#include "fit/straight.hpp"

namespace evenbevel::choil {
namespace {

/// At `down_mm`; their mean where all rows are one.
Straight through(std::span<const RoughRow> rows, double down_mm, double RoughRow::*which) {
  std::vector<Eigen::Vector2d> points;
  double sum = 0.0;
  for (const RoughRow& row : rows) {
    points.emplace_back(row.down_mm - down_mm, row.*which);
    sum += row.*which;
  }
  return straight_through(points).value_or(Straight{sum / static_cast<double>(rows.size()), 0.0});
}

}  // namespace

std::optional<RoughAt> RoughCourse::at(double down_mm) const {
  const std::vector<RoughRow>& rows = section_.rows;
  const auto after =
      std::lower_bound(rows.begin(), rows.end(), down_mm,
                       [](const RoughRow& row, double down) { return row.down_mm < down; });
  if (after == rows.end()) return std::nullopt;
  const auto i = static_cast<std::size_t>(after - rows.begin());
  constexpr double kAboutMm = 0.35;
  const auto about = static_cast<std::size_t>(kAboutMm / section_.step_mm);
  const std::size_t low = i > about ? i - about : 0, high = std::min(i + about, rows.size() - 1);
  if (rows[high].down_mm - rows[low].down_mm > 4.0 * kAboutMm) return std::nullopt;
  const auto near = std::span(rows).subspan(low, high - low + 1);
  const Straight left = through(near, down_mm, &RoughRow::left_mm);
  const Straight right = through(near, down_mm, &RoughRow::right_mm);
  const Straight behind = through(near, down_mm, &RoughRow::behind_mm);
  double evidence = near.front().evidence;
  for (const RoughRow& row : near) evidence = std::min(evidence, row.evidence);
  return RoughAt{.left_mm = left.value,
                 .right_mm = right.value,
                 .behind_mm = std::max(behind.value, 0.0),
                 .left_slope = left.slope,
                 .right_slope = right.slope,
                 .evidence = evidence,
                 .before_paper = rows[i].before_paper};
}

}  // namespace evenbevel::choil
