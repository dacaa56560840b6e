#pragma once

#include <vector>

#include <Eigen/Core>
#include <opencv2/core/mat.hpp>

#include "evenbevel/camera.hpp"

namespace evenbevel::edge {

/// Two long parallel borders, in the plane at distance 1 from the camera (x right, y down).
struct BorderPair {
  Eigen::Vector2d middle = Eigen::Vector2d::Zero();
  Eigen::Vector2d along = Eigen::Vector2d::UnitX();  ///< Unit length; either sense.
  double width = 0.0;                                ///< Distance of the borders.
  double strength = 0.0;  ///< Length of the weaker border, in px of the small copy.
};

/// Looks for straight borders in a small copy of the whole picture (a Hough transform in which each
/// pixel votes with the sign of its gradient, so that a chequered card's borders cancel), and pairs
/// them. Strongest first, one of a kind.
/// Source: P. V. C. Hough, US patent 3069654 (1962); R. O. Duda, P. E. Hart, Comm. ACM 15 (1972),
/// 11-15, for angle and distance as parameters.
std::vector<BorderPair> long_border_pairs(const cv::Mat& grey, const CameraModel& camera,
                                          double width_low, double width_high, int most);

}  // namespace evenbevel::edge
