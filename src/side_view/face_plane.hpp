#pragma once

#include <Eigen/Core>

#include "evenbevel/camera.hpp"
#include "evenbevel/frames.hpp"

namespace evenbevel::side {

/// Coordinates (x, z) in planes over the card: x toward the blade's tip, z toward its spine, mm.
/// "Height" is over the card's top. A point without a height lies on the upper face.
class FacePlane {
 public:
  /// @param along_mm, up_mm  Unit vectors of x and z in the card frame, square to each other.
  FacePlane(const CameraModel& camera, const Transform<Camera, Card>& T_camera_card,
            const Eigen::Vector2d& origin_mm, const Eigen::Vector2d& along,
            const Eigen::Vector2d& up, double height_mm);

  /// The upper face leans: `drop_mm` lower at x = `end_mm` than at x = 0.
  void lean(double drop_mm, double end_mm);

  double upper(double x_mm) const { return height_mm_ + lean_ * x_mm; }
  Eigen::Vector2d card(const Eigen::Vector2d& xz_mm) const;
  Eigen::Vector2d pixel(const Eigen::Vector2d& xz_mm, double height_mm) const;
  Eigen::Vector2d pixel(const Eigen::Vector2d& xz_mm) const;
  /// The point at `height_mm` that hides behind, or stands before, this one of the upper face.
  Eigen::Vector2d moved_to(double height_mm, const Eigen::Vector2d& xz_mm) const;
  double px_per_mm(const Eigen::Vector2d& xz_mm) const;
  /// The camera's place: x, z, height.
  const Eigen::Vector3d& eye() const { return eye_; }
  /// The same with another pose or camera, for propagating their uncertainty.
  FacePlane with(const CameraModel& camera, const Transform<Camera, Card>& T_camera_card) const;
  const CameraModel& camera() const { return camera_; }
  const Transform<Camera, Card>& pose() const { return T_camera_card_; }
  /// (x, z) on the upper face of what a pixel sees.
  Eigen::Vector2d at_pixel(const Eigen::Vector2d& q_px) const;

 private:
  CameraModel camera_;
  Transform<Camera, Card> T_camera_card_;
  Eigen::Vector2d origin_, along_, up_;
  double height_mm_;
  double lean_ = 0.0;
  Eigen::Vector3d eye_;
};

}  // namespace evenbevel::side
