#pragma once

#include <random>

#include "imaging.hpp"
#include "scene.hpp"

namespace evenbevel::test {

/// A scene of the given stage as it may stand in a shop: blade, card, jaws, light, lens and pose.
/// The camera is 170-340 mm away, up to 15 mm aside, at 8-22 px a mm, the picture 2400 px wide; the
/// blade's ends are in it or not. The land's borders may be weak, over all or part of the length.
EdgeScene random_edge_scene(SceneStage stage, LightKind light, std::mt19937_64& rng);
/// The same in any light.
EdgeScene random_edge_scene(SceneStage stage, std::mt19937_64& rng);

/// A phone or USB camera's picture of it: blur, noise, sharpening, perhaps JPEG.
Imaging random_imaging(std::mt19937_64& rng);

/// Camera above `aim_mm` (card frame), `from_mm` away from it, its x axis turned by `roll_rad`
/// from the card's.
Transform<Camera, Card> looking_at(const Eigen::Vector3d& aim_mm, const Eigen::Vector3d& from_mm,
                                   double roll_rad);

}  // namespace evenbevel::test
