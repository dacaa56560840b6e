#pragma once

#include "evenbevel/edge_view.hpp"
#include "evenbevel/photo.hpp"
#include "evenbevel/report.hpp"

namespace evenbevel::test {

/// How a made-up blade lies in its made-up photo.
struct DrawnBlade {
  Stage stage = Stage::scribed;
  double length_mm = 60.0;
  double step_mm = 1.0;
  double thickness_mm = 3.302;
  double width_mm = 0.262;       ///< Land, or gap between the lines.
  double offset_mm = 0.040;      ///< At the handle end...
  double offset_end_mm = 0.040;  ///< ...and at the tip, linear between.
  double offset_u_mm = 0.004;
  double width_u_mm = 0.005;
  double scale_px_per_mm = 16.0;
  double direction_rad = 0.01;  ///< Of the way to the tip, in the upright photo; 0: to the right.
  int orientation = 1;
  std::vector<int> unseen = {20, 21, 22, 23};  ///< Stations without any quantity.

  double offset_at(double x_mm) const {
    return offset_mm + (offset_end_mm - offset_mm) * x_mm / length_mm;
  }
};

/// Stored pixel of a place (x along the blade, y to the left face, mm), pixel centres at integers.
Eigen::Vector2d pixel_of(const DrawnBlade& blade, double x_mm, double y_mm);

EdgeResult result_of(const DrawnBlade& blade);

/// Dark ground, grey blade, white lines or land where result_of says, each pixel by its coverage.
Photo photo_of(const DrawnBlade& blade);

CameraModel camera_of(const DrawnBlade& blade);
EdgeSettings settings_of(const DrawnBlade& blade);

}  // namespace evenbevel::test
