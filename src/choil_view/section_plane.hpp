#pragma once

#include <vector>

#include <Eigen/Core>
#include <opencv2/core/mat.hpp>

#include "border/sharpening.hpp"
#include "evenbevel/camera.hpp"
#include "evenbevel/frames.hpp"
#include "evenbevel/trace.hpp"

namespace evenbevel::choil {

/// The card's plane, in which the heel's end lies. Its points are (y, down) in mm: y to the left
/// face (the card's x), down from the grid's centre toward the jaws (the card's -y).
class SectionPlane {
 public:
  SectionPlane(const CameraModel& camera, const Transform<Camera, Card>& T_camera_card);

  Eigen::Vector2d pixel(const Eigen::Vector2d& p_mm) const;
  Eigen::Vector2d at(const Eigen::Vector2d& q_px) const;
  double px_per_mm(const Eigen::Vector2d& p_mm) const;  ///< Along y.

  /// Where the camera stands over the plane. What lies behind a point of the plane, square to it,
  /// is seen between that point and the foot.
  const Eigen::Vector2d& foot_mm() const { return foot_mm_; }
  double distance_mm() const { return distance_mm_; }

 private:
  CameraModel camera_;
  Transform<Camera, Card> T_camera_card_;
  Eigen::Vector3d centre_card_mm_;
  Eigen::Vector2d foot_mm_;
  double distance_mm_;
};

/// A part of the photo in linear light.
struct Patch {
  cv::Point origin_px;  ///< In the stored pixel grid.
  cv::Mat linear;       ///< CV_32FC1, 0..1.
  double clip = 1.0;    ///< From here on a sample counts as clipped.
};

/// @param sharpening  To be taken back.
Patch light_patch(const cv::Mat& pixels, const cv::Rect& region, const Sharpening& sharpening = {});

/// The plane resampled: row = down, column = y. CV_32FC1, linear light; 0 outside of the patch.
struct Straightened {
  cv::Mat light;
  double y0_mm = 0.0, down0_mm = 0.0, step_y_mm = 0.0, step_down_mm = 0.0;

  double y_mm(double column) const { return y0_mm + step_y_mm * column; }
  double down_mm(double row) const { return down0_mm + step_down_mm * row; }
};

struct PlaneRange {
  double y_low, y_high, down_low, down_high;
};

Straightened straighten(const Patch& patch, const SectionPlane& plane, const PlaneRange& range,
                        double step_y_mm, double step_down_mm);

/// A short band of the plane, through which a profile runs.
struct Band {
  Eigen::Vector2d middle_mm = Eigen::Vector2d::Zero();
  bool along_y = true;         ///< The profile runs along +y, else along +down.
  double lean = 0.0;           ///< The border's shift along the profile per mm across the band.
  double half_width_mm = 0.1;  ///< Of the band, across the profile.
  double low_mm = 0.0, high_mm = 0.0;  ///< Of the profile, from the border's place.
};

/// All pixels of the band against their place along the profile, in px from the middle, in bins of
/// a quarter pixel. The weight is the number of pixels.
std::vector<ProfileSample> band_profile(const Patch& patch, const SectionPlane& plane,
                                        const Band& band, double px_per_mm);

}  // namespace evenbevel::choil
