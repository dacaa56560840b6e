#pragma once

#include <optional>

#include <Eigen/Core>
#include <Eigen/Geometry>

#include "evenbevel/side_view.hpp"

namespace evenbevel {

/// Where the blade frame's (x, z) of one face lies in its photo, and back: the face's plane
/// parallel to the card, and the turn, shift and mirror that bring it to the blade frame, as the
/// traces say. For display: it puts pixels and traces in the same place whatever it is off by.
class FaceMap {
 public:
  /// Empty when the face has too few traces.
  static std::optional<FaceMap> of(const SideResult& result, const FacePhoto& photo,
                                   double thickness_mm);

  Eigen::Vector2d xz_of(const Eigen::Vector2d& q_px) const;
  Eigen::Vector2d px_of(const Eigen::Vector2d& xz_mm) const;

 private:
  Eigen::Vector2d card_of(const Eigen::Vector2d& q_px) const;

  CameraModel camera_;
  Eigen::Isometry3d camera_from_card_ = Eigen::Isometry3d::Identity();
  double height_mm_ = 0.0;
  Eigen::Affine2d blade_from_card_ = Eigen::Affine2d::Identity();
  Eigen::Affine2d card_from_blade_ = Eigen::Affine2d::Identity();
};

}  // namespace evenbevel
