#pragma once

#include <Eigen/Core>
#include <opencv2/core/mat.hpp>

#include "face_plane.hpp"

namespace evenbevel::side {

/// What the bare lane looks like, in linear light, and how steel is told from it.
struct LaneColour {
  bool coloured = true;        ///< Green; else a print without colour, told by brightness alone.
  double red_per_green = 0.0;  ///< Of the lane; alike in light and shade.
  /// Brightness (green channel, or grey): a + b x + c y, card frame, mm.
  Eigen::Vector3d level = Eigen::Vector3d::Zero();

  double level_at(const Eigen::Vector2d& card_mm) const {
    return level.x() + level.y() * card_mm.x() + level.z() * card_mm.y();
  }
};

/// Upright rectangle of a FacePlane, sampled every `step_mm`: columns run along x, rows down from
/// the spine's side.
struct FaceImage {
  double left_mm = 0.0, top_mm = 0.0;  ///< (x, z) of the centre of pixel (0, 0).
  double step_mm = 0.1;
  double blur_px = 1.0;  ///< Of the photo's borders, standard deviation, as its card shows it.
  cv::Mat code;          ///< CV_32FC1, grey as encoded, 0..1.
  cv::Mat light;         ///< CV_32FC1, the same as linear light.
  cv::Mat steel;  ///< CV_32FC1, linear: 0 on the lane in any shade, in units of the lane's level.

  double x(double column) const { return left_mm + column * step_mm; }
  double z(double row) const { return top_mm - row * step_mm; }
  double column(double x_mm) const { return (x_mm - left_mm) / step_mm; }
  double row(double z_mm) const { return (top_mm - z_mm) / step_mm; }
};

/// Pixels of a photo at the nodes of a FacePlane's rectangle, as stored. Black outside the photo.
struct Grid {
  double left_mm = 0.0, top_mm = 0.0, step_mm = 0.1;
  int columns = 0, rows = 0;
};
cv::Mat sampled(const cv::Mat& pixels, const FacePlane& plane, const Grid& grid);

/// The same from a shrunken copy, for steps of several px.
cv::Mat sampled_coarsely(const cv::Mat& pixels, const FacePlane& plane, const Grid& grid);

FaceImage face_image(const cv::Mat& pixels, const FacePlane& plane, const LaneColour& lane,
                     const Grid& grid);

/// Linear light of a stored value; one pixel's B, G, R (a grey picture: thrice the same).
Eigen::Vector3f light_at(const cv::Mat& pixels, int row, int column);

/// Value between pixels. @pre Inside by a pixel.
inline float between(const cv::Mat& image, double column, double row) {
  const int c = static_cast<int>(column), r = static_cast<int>(row);
  const auto a = static_cast<float>(column - c), b = static_cast<float>(row - r);
  const float* upper = image.ptr<float>(r) + c;
  const float* lower = image.ptr<float>(r + 1) + c;
  return (1.0F - b) * ((1.0F - a) * upper[0] + a * upper[1]) +
         b * ((1.0F - a) * lower[0] + a * lower[1]);
}

}  // namespace evenbevel::side
