#pragma once

#include <random>
#include <string>
#include <vector>

#include "evenbevel/edge_set.hpp"
#include "scene.hpp"

namespace evenbevel::test {

/// The same blade turned end for end in the same jaws, under the same light and camera: what the
/// light does to a side of the blade it now does to the other one.
EdgeScene turned(const EdgeScene& scene, std::mt19937_64& rng);

/// The same set-up from elsewhere: the camera `along_mm`, `beside_mm` (card frame) off the place
/// that it looks at, at the same height.
EdgeScene seen_from(const EdgeScene& scene, double along_mm, double beside_mm);

/// As a phone sees it; the same `imaging` stands for the same phone.
Photo photo_of(const EdgeScene& scene, const std::string& name, const std::mt19937_64& imaging,
               std::mt19937_64& noise);

/// What the maker types in: micrometer to 3 um, printed bar to 0.05 %, and where the tip is.
EdgeSettings settings_for(const EdgeScene& scene, std::mt19937_64& rng);

struct SetTrial {
  std::string refused;
  int photos = 0;        ///< That entered the result.
  std::string left_out;  ///< What was said of the others.
  struct Reading {
    double error = 0.0, u95 = 0.0;
    bool held() const { return error <= u95 && error >= -u95; }
  };
  std::vector<Reading> offset_mm, single_offset_mm;  ///< A station each; of the first photo alone.
  std::vector<Reading> mean_offset_mm;               ///< One, if measured; so the others.
  std::vector<Reading> land_height_mm, facet_angle_rad;
  double setup_offset_mm = 0.0;
};

/// Deterministic in (stage, number): a pair, the second photo with the blade turned.
SetTrial run_reversal(SceneStage stage, int number);

/// Three photos of one set-up, the camera moved by 40 to 60 mm to either side.
SetTrial run_three_places(SceneStage stage, int number);

struct SetTally {
  int readings = 0;
  double rms = 0.0, mean = 0.0, worst = 0.0, held = 0.0, median_u95 = 0.0;
};
SetTally tally(const std::vector<SetTrial>& trials,
               std::vector<SetTrial::Reading> SetTrial::*quantity);

}  // namespace evenbevel::test
