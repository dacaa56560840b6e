#pragma once

#include <functional>
#include <vector>

#include <opencv2/core.hpp>

#include "evenbevel/camera.hpp"
#include "evenbevel/photo.hpp"

namespace evenbevel::outside {

// Pictures of a blade in the edge card, drawn without the project's renderer, camera and card
// drawing: markers by cv::aruco, the page by cv::warpPerspective, places by cv::projectPoints,
// borders by a formula or from a photograph that the test brings.

/// Brightness across a border as function of the place beside it in picture pixels (x along the
/// border, y from its dark side to its bright one): 0 to 1.
using BorderLook = std::function<double(cv::Point2d)>;

/// The Gaussian-blurred step integrated over a pixel: sigma (G(u + 1/2) - G(u - 1/2)) with G(t) = t
/// Phi(t) + phi(t) (the normal distribution's integral, closed form).
double blurred_step(double from_edge_px, double sigma_px);
BorderLook blurred_step_look(double sigma_px);

/// A border along the blade. Blade frame: y toward the left face; z here above the card's top.
struct Border {
  double y_mm = 0.0, z_mm = 0.0;
  double rise = 0.0;  ///< Step of linear light, going toward +y.
};

struct EdgePicture {
  cv::Vec3d tilt_rad{0.0, 0.0, 0.0};       ///< Rotation vector of the camera from straight down.
  cv::Point3d camera_mm{0.0, 0.0, 300.0};  ///< Projection centre, card frame.
  double blur_px = 0.8;
  double noise = 1.0;  ///< Grey levels of 255, RMS.
  double slot_half_mm = 2.6;
  std::vector<Border> borders;
  BorderLook look;                                ///< Empty: the blurred step of blur_px.
  std::function<cv::Mat(const cv::Mat&)> encode;  ///< Linear light to codes; empty: sRGB.

  CameraModel camera() const;
  std::vector<cv::Point2d> project(const std::vector<cv::Point3d>& card_mm) const;
};

/// Codes 0..1 by the curve of IEC 61966-2-1.
cv::Mat srgb_of(const cv::Mat& linear);

Photo draw(const EdgePicture& picture);

/// A ground edge: facets at 45 degrees from the mid-plane, so as deep as they are wide.
std::vector<Border> ground_edge(double thickness_mm, double land_mm, double offset_mm,
                                double edge_z_mm);

/// Two bright lines on the unground face.
std::vector<Border> scribed_edge(double thickness_mm, double gap_mm, double line_mm,
                                 double offset_mm, double edge_z_mm);

}  // namespace evenbevel::outside
