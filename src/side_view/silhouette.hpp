#pragma once

#include <Eigen/Core>
#include <opencv2/core/mat.hpp>

#include "evenbevel/camera.hpp"
#include "evenbevel/card.hpp"
#include "face_image.hpp"

namespace evenbevel::side {

/// Where the blade lies in the lane, to a few tenths of a mm: card frame, at its upper face.
struct RoughBlade {
  Eigen::Vector2d handle_mm = Eigen::Vector2d::Zero();  ///< Foot of the handle's end, on the
                                                        ///< line of the lowest edge.
  Eigen::Vector2d along = Eigen::Vector2d::UnitX();     ///< To the tip, along the spine.
  Eigen::Vector2d up = Eigen::Vector2d::UnitY();        ///< To the spine.
  double length_mm = 0.0, height_mm = 0.0;
  bool handle_seen = true;  ///< Its end lies within the lane and the picture.
  bool tip_seen = true;
  /// How much clearer the one side is a spine than the other: 0 not at all.
  double spine_sure = 1.0;
};

struct Silhouette {
  LaneColour lane;
  RoughBlade blade;
};

/// @param upper_mm  Height of the upper face over the card.
/// @throws Error  No blade in the lane, blade over the markers, tip not seen.
Silhouette find_silhouette(const cv::Mat& pixels, const CameraModel& camera,
                           const Transform<Camera, Card>& T_camera_card, double upper_mm);

}  // namespace evenbevel::side
