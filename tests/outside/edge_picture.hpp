#pragma once

#include <array>
#include <functional>
#include <optional>
#include <vector>

#include <opencv2/core.hpp>

#include "evenbevel/camera.hpp"
#include "evenbevel/photo.hpp"

namespace evenbevel::outside {

// Pictures of a blade in the edge card, drawn without the project's renderer, camera and card
// drawing: markers by cv::aruco, the page by cv::perspectiveTransform, places by cv::projectPoints,
// borders by a formula or from a photograph that the test brings.

/// Brightness across a border as function of the place beside it in picture pixels (x along the
/// border, y from its dark side to its bright one; 10 px from it and nearer) and of its slant
/// against the pixel rows: 0 to 1.
using BorderLook = std::function<double(cv::Point2d, double slant_rad)>;

/// A border along the blade. Blade frame: y toward the left face; z here above the card's top.
struct Border {
  double y_mm = 0.0, z_mm = 0.0;
  double rise = 0.0;     ///< Step of linear light, going toward +y.
  BorderLook look = {};  ///< Empty: test::drawn_step of the picture's blur.
};

/// The printed page, in linear light.
struct CardPage {
  cv::Mat light;  ///< CV_32FC3.
  double px_per_mm = 0.0;
  cv::Point2d middle_px;  ///< The card's; pixel centres at integers.
};

/// Slits it along the lane.
void cut_slot(CardPage& page);

/// The edge card on whole pixels with its slot, markers by cv::aruco.
CardPage aruco_page();

struct EdgePicture {
  cv::Vec3d tilt_rad{0.0, 0.0, 0.0};       ///< Rotation vector of the camera from straight down.
  cv::Point3d camera_mm{0.0, 0.0, 300.0};  ///< Projection centre, card frame.
  std::array<double, 5> distortion{};      ///< k1 k2 p1 p2 k3, by cv::undistortPoints.
  double blur_px = 0.8;
  double noise = 1.0;  ///< Grey levels of 255, RMS.
  int noise_seed = 20;
  std::optional<CardPage> page;  ///< Empty: aruco_page.
  std::vector<Border> borders;
  std::function<cv::Mat(const cv::Mat&)> encode;  ///< Linear light to codes; empty: sRGB.

  CameraModel camera() const;
  /// Without the lens's distortion.
  std::vector<cv::Point2d> project(const std::vector<cv::Point3d>& card_mm) const;
  /// As OpenCV has it: rotation vector and translation, card to camera.
  cv::Vec3d rotation() const;
  cv::Vec3d translation() const;
};

/// Codes 0..1 by the curve of IEC 61966-2-1.
cv::Mat srgb_of(const cv::Mat& linear);

/// Without its noise: codes 0..1, CV_32FC3.
cv::Mat draw_codes(const EdgePicture& picture);

Photo with_noise(const cv::Mat& codes, const EdgePicture& picture);

Photo draw(const EdgePicture& picture);

/// A ground edge: facets at 45 degrees from the mid-plane, so as deep as they are wide.
std::vector<Border> ground_edge(double thickness_mm, double land_mm, double offset_mm,
                                double edge_z_mm);

/// Two bright lines on the unground face.
std::vector<Border> scribed_edge(double thickness_mm, double gap_mm, double line_mm,
                                 double offset_mm, double edge_z_mm);

}  // namespace evenbevel::outside
