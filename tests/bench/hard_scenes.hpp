#pragma once

#include <string>
#include <vector>

#include "../edge_view/trial.hpp"

namespace evenbevel::test {

/// One of the hard scenes and what the program makes of it. Scene NUMBER is the same whatever else
/// is measured.
struct HardScene {
  int number = 0;
  SceneStage stage = SceneStage::ground;
  LightKind light = LightKind::soft;
  Trial trial = {};
};

/// Stage and light by the number, nothing measured yet: sixteen scenes in a row go through every
/// stage in every light.
HardScene hard_scene(int number);

const char* name(SceneStage stage);

/// Errors and intervals of some readings, as the tables give them.
struct Figures {
  std::size_t readings = 0;
  double mean = 0.0, rms = 0.0, worst = 0.0;
  double held = 0.0;  ///< Share whose 95 % interval holds the truth.
  double median_u95 = 0.0;
};
Figures figures_of(const std::vector<Reading>& readings);

/// Of the stations in view with a land or lines, the share that were read.
double read_share(const Trial& trial);

/// Why the answer would mislead its maker: the mean offset outside its U95, fewer than 90 % of the
/// stations inside, the wrong face, or a plunge mismatch outside 1.3 U95. Empty: it would not.
std::string falsehood(const Trial& trial);

/// A table in Markdown: held share, RMS error, median U95, refusals and falsehoods by stage and
/// light, by the camera's place, by px/mm, by contrast of the weaker border, and by what the maker
/// does not know.
void print_bins(const std::vector<HardScene>& scenes);

}  // namespace evenbevel::test
