#pragma once

#include "evenbevel/choil_report.hpp"
#include "evenbevel/choil_view.hpp"

namespace evenbevel::test {

/// A made-up section, a straight wedge, in its made-up photo.
struct DrawnSection {
  double edge_mm = 0.3;
  double angle_left_rad = 0.05, angle_right_rad = 0.04;  ///< Against the axis.
  double deep_mm = 30.0;
  double asymmetry_u_mm = 0.01;
  double scale_px_per_mm = 20.0;
  double turned_rad = 0.05;  ///< Of the axis in the upright photo; 0: the spine is below the edge.
  int orientation = 1;

  double half_left_mm(double depth_mm) const;
  double half_right_mm(double depth_mm) const;
};

ChoilResult result_of(const DrawnSection& section);

/// White paper, dark section, each pixel by its coverage.
Photo photo_of(const DrawnSection& section);

CameraModel choil_camera();

}  // namespace evenbevel::test
