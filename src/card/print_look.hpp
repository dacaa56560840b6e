#pragma once

#include <opencv2/core/mat.hpp>

#include "border/sharpening.hpp"
#include "evenbevel/camera.hpp"
#include "evenbevel/card.hpp"
#include "evenbevel/frames.hpp"

namespace evenbevel {

/// How the camera drew a card's printed borders, and so all borders about as far away.
struct PrintLook {
  Sharpening sharpening;  ///< None where too few borders show.
  double blur_px = 0.0;   ///< Gaussian sigma, the sharpening taken back; 0: too few borders.
};

/// From two dozen of the borders between black and white cells that run up the page.
PrintLook print_look(const cv::Mat& pixels, const CameraModel& camera,
                     const Transform<Camera, Card>& T_camera_card, CardKind kind,
                     const PrintScale& print);

}  // namespace evenbevel
