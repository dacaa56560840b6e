#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenbevel/edge_view.hpp"
#include "scene.hpp"

namespace evenbevel::test {

/// A reading against its truth.
struct Reading {
  double error = 0.0;
  double u95 = 0.0;

  bool held() const { return error <= u95 && error >= -u95; }
};

/// One random scene, drawn, photographed, measured and compared.
struct Trial {
  SceneStage stage = SceneStage::ground;
  std::string refused;  ///< Why there is no result; empty: there is one.
  bool right_stage = false;
  std::vector<Reading> offset_mm;  ///< A station each.
  std::vector<Reading> width_mm;   ///< Line gap or land width, a station each.
  std::optional<Reading> mean_offset_mm, plunge_mismatch_mm, facet_difference_mm;
  double seconds_drawn = 0.0, seconds_measured = 0.0;  ///< Processor time.
};

/// Deterministic in (stage, number). The maker knows the camera and where the tip is, and reads the
/// thickness to 3 um and the printed bar to 0.05 %.
Trial run_trial(SceneStage stage, int number);

/// The quick look at a scene of its own, the camera up to 10 degrees from over the edge, any angle
/// as likely. Even numbers have no card in the picture; odd ones have it, to be ignored, and are
/// measured with it too. The maker knows the camera when `number` is even or divisible by 3.
struct QuickLookTrial {
  Trial without_card;
  std::optional<Trial> with_card;
};
QuickLookTrial run_quick_look_trial(SceneStage stage, int number);

/// Over all stations of many trials.
struct Tally {
  int trials = 0, refused = 0, wrong_stage = 0;
  int stations = 0;
  double rms = 0.0, mean = 0.0, worst = 0.0;
  double held = 0.0;  ///< Share of stations whose 95 % interval holds the truth.
  double median_u95 = 0.0;
};
enum class Quantity { offset, width, mean_offset, plunge_mismatch, facet_difference };
Tally tally(const std::vector<Trial>& trials, Quantity quantity);

}  // namespace evenbevel::test
