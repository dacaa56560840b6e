#pragma once

#include <optional>
#include <string>

#include <Eigen/Core>

#include "evenbevel/statement.hpp"

namespace evenbevel {

/// The part of a photo that a preview shows, turned so that the same places of the blade lie over
/// each other in the previews of all stages. u runs to the right of the preview and v down, both in
/// mm of the blade. The tip is at the right: the left face is mirrored for that, nothing else.
struct PreviewWindow {
  Eigen::Vector2d origin_px = Eigen::Vector2d::Zero();  ///< u = v = 0, stored pixel grid.
  Eigen::Vector2d u_px_per_mm = Eigen::Vector2d::Zero(), v_px_per_mm = Eigen::Vector2d::Zero();
  double u_from_mm = 0.0, u_to_mm = 0.0, v_from_mm = 0.0, v_to_mm = 0.0;
  double scale = 1.0;      ///< Preview px per mm along u.
  double enlarged = 1.0;   ///< By how much more along v.
  std::string words = {};  ///< What is where: a full sentence.
};

/// From the stations of a report: the edge along the blade, a face with its edge down, or the
/// section with its edge down.
/// @param face  Of the side view. @return  Empty where the report has too few stations for it.
std::optional<PreviewWindow> preview_window(const Statement& report, const std::string& face);

}  // namespace evenbevel
