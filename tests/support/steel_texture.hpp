#pragma once

#include <cstdint>

#include "scene.hpp"

namespace evenbevel::test {

/// Noise of unit variance, uniform at whole numbers and linear between them.
double smooth_noise(double at, std::uint32_t seed);

/// Relative brightness of belt scratches, streaks and drift; 1 on average.
double modulation(const Texture& texture, double x_mm, double y_mm, std::uint32_t seed);

/// Relative brightness of deep scratches and dust, of which some are finer than a pixel: over a
/// pixel's width. 1 where there are none.
double marked(const EdgeScene& scene, double x_mm, double y_mm, double pixel_mm);

/// How far the burr reaches over the facet; 0 where there is none.
double burr_reach_mm(const EdgeScene& scene, double x_mm);

}  // namespace evenbevel::test
