#pragma once

#include <random>

#include "evenbevel/camera.hpp"
#include "evenbevel/photo.hpp"
#include "imaging.hpp"
#include "scene.hpp"

namespace evenbevel::test {

/// A photo of the practice card on a table, drawn without any of the measuring code and from the
/// numbers on the page.
struct PracticeScene {
  CameraModel camera;
  Transform<Camera, Card> T_camera_card;
  double print_along = 1.0, print_across = 1.0;
  double bow_mm = 0.0;  ///< The paper's middle above its ends, along the page.
  double ink_mm = 0.0;  ///< By which black spreads over white, to either side of a border.
  Eigen::Vector2d light_slope = Eigen::Vector2d::Zero();  ///< Brighter, per 100 mm of the card.
  double offset_end_mm = 0.1;  ///< What is printed at the handle's end; another page than ours.
};

/// Any phone-like camera, over the strip or up to 60 mm aside, in light from any side.
PracticeScene random_practice_scene(std::mt19937_64& rng);

/// Blur, exposure, noise, sharpening, JPEG; every third through a phone's picture chain.
Imaging random_practice_imaging(std::mt19937_64& rng);

Photo practice_photo(const PracticeScene& scene, const Imaging& imaging, std::mt19937_64& rng);

}  // namespace evenbevel::test
