#pragma once

#include <functional>
#include <optional>
#include <vector>

#include <Eigen/Core>
#include <opencv2/core/mat.hpp>

#include "border/sharpening.hpp"
#include "evenbevel/camera.hpp"
#include "evenbevel/frames.hpp"
#include "evenbevel/trace.hpp"

namespace evenbevel::edge {

/// Height above the card along it: linear between nodes (card x, height), in order of x, and
/// constant beyond the ends.
class HeightProfile {
 public:
  HeightProfile(double height_mm) : nodes_{{0.0, height_mm}} {}  // NOLINT: one height is a profile.
  explicit HeightProfile(std::vector<Eigen::Vector2d> x_height_mm);

  double at(double card_x_mm) const;
  double mean_mm() const;  ///< Over the nodes.
  bool flat() const { return nodes_.size() == 1; }

 private:
  std::vector<Eigen::Vector2d> nodes_;
};

/// Coordinates for following the blade: s along it, t across it (mm), in the plane parallel to the
/// card at a reference height; or in a surface that rises and falls along the card, so that borders
/// at those heights run straight for a camera that sees them aslant. When s runs to the tip, t runs
/// to the left face.
class StripFrame {
 public:
  StripFrame(const CameraModel& camera, const Transform<Camera, Card>& T_camera_card,
             HeightProfile reference_height_mm, double direction_rad);

  Eigen::Vector2d pixel(double s_mm, double t_mm) const;
  /// (s, t) of the point where a pixel's ray meets the reference plane.
  Eigen::Vector2d at(const Eigen::Vector2d& q_px) const;

  double px_per_mm_across(double s_mm, double t_mm) const;
  double reference_height_mm() const { return heights_.mean_mm(); }  ///< Mean.
  double direction_rad() const { return direction_rad_; }
  /// The camera's foot point on the card plane, in (s, t), and its height above the card.
  Eigen::Vector3d camera_mm() const { return camera_stz_mm_; }
  StripFrame turned(double direction_rad) const;
  StripFrame in_plane() const;  ///< The same directions in the plane at the mean height.

 private:
  CameraModel camera_;
  Transform<Camera, Card> T_camera_card_;
  HeightProfile heights_;
  double direction_rad_;
  Eigen::Vector2d along_, across_;
  Eigen::Vector3d centre_card_mm_, camera_stz_mm_;
};

/// One channel, once as encoded (to find things) and once in linear light (to measure them).
struct Light {
  cv::Mat encoded;  ///< CV_8UC1.
  cv::Mat linear;   ///< CV_32FC1, 0..1.
};

/// The part of the photo around the lane. Dyed steel may be no brighter in grey than the jaws
/// beside it; its flats are then sought in the dye's own channel. Lines stay in grey, which JPEG
/// and HEIC keep at full resolution.
struct LaneImage {
  cv::Point origin_px;  ///< Of both, in the stored pixel grid.
  Light grey;
  Light flats;                     ///< The dye's channel; the same as `grey` where there is no dye.
  double clip = 1.0;               ///< Linear light from which on a sample counts as clipped.
  cv::Mat colour = {};             ///< As in the photo, BGR; empty: it has none.
  std::optional<int> dye_channel;  ///< Of `colour`.

  bool dyed() const { return flats.linear.data != grey.linear.data; }
};

/// @param sharpening  To be taken back.
LaneImage lane_image(const cv::Mat& pixels, const cv::Rect& region,
                     const Sharpening& sharpening = {});

/// The straightened strip, CV_32FC1, encoded grey: row = t, column = s.
struct CoarseStrip {
  cv::Mat grey;
  double s0_mm = 0.0, ds_mm = 0.0;
  double t0_mm = 0.0, dt_mm = 0.0;

  double s_mm(double column) const { return s0_mm + ds_mm * column; }
  double t_mm(double row) const { return t0_mm + dt_mm * row; }
};

/// A Gaussian's derivative down a column; answers 1 to a ramp of 1 a row. CV_32FC1.
cv::Mat slope_kernel(double sigma_rows);

/// Range of a straightened strip, mm.
struct StripRange {
  double s_low, s_high, t_low, t_high;
};

CoarseStrip coarse_strip(const LaneImage& image, Light LaneImage::*light, const StripFrame& frame,
                         const StripRange& range, double ds_mm, double dt_mm);

/// What a short band across the blade shows: all of its pixels against their distance from the
/// line t = t_mid + slope (s - s_mid), in bins of a quarter pixel, in linear light.
struct Band {
  double s_mm = 0.0;
  double t_mid_mm = 0.0;
  double slope = 0.0;
  double half_length_mm = 0.5;
  double t_low_mm = 0.0, t_high_mm = 0.0;  ///< Relative to the line.
};

/// Samples in px, relative to the line, in order of t. Pixels outside of the picture are left out.
std::vector<ProfileSample> band_profile(const LaneImage& image, Light LaneImage::*light,
                                        const StripFrame& frame, const Band& band,
                                        double px_per_mm);

}  // namespace evenbevel::edge
