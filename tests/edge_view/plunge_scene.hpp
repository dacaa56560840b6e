#pragma once

#include <optional>
#include <random>

#include "edge_view/plunge.hpp"
#include "imaging.hpp"
#include "random_scene.hpp"
#include "scene.hpp"

namespace evenbevel::test {

/// A ground blade about its plunge lines, photographed, with what a gauge knows of it before it
/// looks for them: rims and the land's borders, each a little off.
struct PlungeScene {
  EdgeScene scene;
  cv::Mat picture;
  double blur_px = 0.0;
  edge::FlatsPair flats;
  edge::InnerTrace land;

  edge::StripFrame frame() const;
  double truth_mm() const;  ///< Left less right.
};

/// The rims' and the land's places are off by this much, RMS; the land is followed to within
/// `end_mm` of where both facets are at full depth.
struct PlungeBefore {
  double border_mm = 0.006, end_mm = 1.5;
  double aside_mm = 0.0;  ///< The picture's middle, from the plunge lines toward the tip.
};

/// Draws the picture. `scene`'s camera is cut to the plunge lines.
PlungeScene plunge_scene(EdgeScene scene, const Imaging& imaging, std::mt19937_64& rng,
                         const PlungeBefore& before = {});

struct PlungeReading {
  double error_mm, u95_mm;
};
/// Empty: not both plunge lines were given.
std::optional<PlungeReading> read_plunges(const PlungeScene& scene);

}  // namespace evenbevel::test
