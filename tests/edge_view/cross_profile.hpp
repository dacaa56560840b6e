#pragma once

#include <random>
#include <vector>

#include "edge_view/strip.hpp"

namespace evenbevel::test {

// A blade seen from straight above by a pinhole, drawn without the renderer: what lies across it is
// even light between borders of known place, blurred by a Gaussian and integrated over the pixels
// in closed form. Strip coordinates: s along the picture's rows, t down its columns.

/// The light changes by `step` (linear) toward larger t.
struct DrawnBorder {
  double t_mm = 0.0;
  double step = 0.0;
};

struct CrossProfile {
  double slope = 0.0;  ///< Of every border along the blade.
  double blur_px = 0.7;
  double noise = 0.0;         ///< Linear light, one sigma a pixel.
  double camera_t_mm = 0.0;   ///< The camera's foot point.
  double edge_mm = 0.0;       ///< Height of what is drawn over the card.
  double length_px = 1200.0;  ///< Along the blade.
  double breadth_px = 120.0;
  double background = 0.0;  ///< Light at the smallest t.
  std::vector<DrawnBorder> borders;

  static constexpr double kPxPerMm = 15.0;

  edge::StripFrame frame() const;
  double half_length_mm() const { return 0.5 * length_px / kPxPerMm; }
  /// Linear light, and the codes of IEC 61966-2-1 that a photo would have.
  edge::Light light(std::mt19937_64& rng) const;
  edge::LaneImage grey(std::mt19937_64& rng) const;
};

}  // namespace evenbevel::test
