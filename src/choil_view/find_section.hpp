#pragma once

#include <optional>
#include <vector>

#include "section_plane.hpp"

namespace evenbevel::choil {

/// Borders of the heel's end face at one height, to about a pixel. Left is toward +y.
struct RoughRow {
  double down_mm = 0.0;
  double left_mm = 0.0, right_mm = 0.0;
  double behind_mm = 0.0;  ///< How far the blade behind shows beside the end face, toward the foot.
  double steel = 0.0;      ///< Light of the end face.
  double paper = 0.0;      ///< Light beside the blade.
  double evidence = 0.0;   ///< That a sharp border is there, of the near one: FollowedBorder.
  bool before_paper = true;  ///< False: lower down, before or between the jaws.
};

/// The end face from its edge downward.
struct RoughSection {
  std::vector<RoughRow> rows;  ///< Evenly spaced; edge first.
  double edge_down_mm = 0.0;
  double top_down_mm = 0.0;  ///< Of all that stands before the paper; the edge or above it.
  std::vector<Eigen::Vector2d> far_mm;  ///< Border away from the foot, (y, down), from the top.
  double paper = 0.0;                   ///< Median of the rows' paper.
  double step_mm = 0.0;
  int near = 0;         ///< Side on which the blade behind may show: +1 left, -1 right, 0 neither.
  double behind = 0.0;  ///< Its light; 0: nowhere wide enough to tell.
  double behind_share = 0.0;  ///< Rows of those before paper in which it does.
};

/// What was looked for and not found.
enum class Missing { paper, blade };

struct Search {
  std::optional<RoughSection> section;
  Missing missing = Missing::blade;
  double paper = 0.0;  ///< Brightest level in the cut-out.
};

/// @param lane  The cut-out in the plane, (y, down); the section may go on below it.
Search find_section(const Straightened& image, const SectionPlane& plane);

}  // namespace evenbevel::choil
