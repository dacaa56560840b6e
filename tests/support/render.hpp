#pragma once

#include <opencv2/core/mat.hpp>

#include "imaging.hpp"
#include "scene.hpp"

namespace evenbevel::test {

struct RenderSettings {
  int samples = 34;       ///< Rays per pixel where borders are near (Fibonacci: 21 34 55 89).
  int card_samples = 21;  ///< The same on the card alone.
  bool cheap = false;     ///< Supersample the card only near its usable corners.
};

/// Each pixel's mean over its square and a first part of the lens's blur, 0.4 px. Rays are cast
/// through the lens onto the blade's cross-section, the card with its grid, markers and lane, the
/// slot and the jaws.
Light render_light(const EdgeScene& scene, const RenderSettings& settings = {});

}  // namespace evenbevel::test
