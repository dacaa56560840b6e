#pragma once

#include <opencv2/core.hpp>

#include "evenbevel/camera.hpp"

namespace evenbevel::test {

/// As OpenCV's functions take it.
inline cv::Matx33d matrix_of(const CameraModel& camera) {
  const Eigen::Vector2d &f = camera.focal_px, &c = camera.centre_px;
  return {f.x(), 0, c.x(), 0, f.y(), c.y(), 0, 0, 1};
}

}  // namespace evenbevel::test
