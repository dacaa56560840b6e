#pragma once

#include <random>

#include <Eigen/Geometry>

#include "evenbevel/camera.hpp"
#include "evenbevel/card.hpp"
#include "evenbevel/frames.hpp"
#include "imaging.hpp"

namespace evenbevel::test {

struct CardScene {
  CardKind kind = CardKind::edge;
  CameraModel camera;
  Transform<Camera, Card> T_camera_card;
  double print_along = 1.0, print_across = 1.0;  ///< Printed / nominal.
  Eigen::AlignedBox2d hidden_mm;                 ///< Under something grey, printed mm; empty: none.
};

/// The card as an independent program drew it, on white paper 12 mm wider than the grid, seen
/// through the lens. Drawn without any of the measuring code.
cv::Mat photo_of(const CardScene& scene, const Imaging& imaging, std::mt19937_64& rng);

/// Where the camera sees a point of the print, given in nominal card mm.
Eigen::Vector2d pixel_of(const CardScene& scene, const Eigen::Vector2d& nominal_mm);

/// A card nearly filling the picture: distance, side of the camera, tilt up to 30 degrees and turn
/// at random.
CardScene random_card_scene(CardKind kind, std::mt19937_64& rng);

}  // namespace evenbevel::test
