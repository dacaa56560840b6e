#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenbevel/finish_view.hpp"
#include "finish_scene.hpp"

namespace evenbevel::test {

/// What a random scene of the finish view is to hold.
struct FinishWish {
  int grooves = 14;
  int lamps = 4;  ///< 45 degrees apart, each up to 8 degrees off; one: across the grooves.
  bool lamp_along = false;                               ///< One lamp: along the grooves.
  double least_px = 0.5, most_px = 2.5;                  ///< Width.
  double least_cross_deg = 30.0, most_cross_deg = 90.0;  ///< Against the lay.
  double least_contrast = 0.6, most_contrast = 3.0;      ///< In the best of the photos.
};

/// One groove and what became of it.
struct GrooveFate {
  double width_px = 0.0, contrast = 0.0, cross_deg = 0.0, length_mm = 0.0;
  bool found = false;
  double direction_error_deg = 0.0;
  std::optional<double> ends_error_mm = {};  ///< The worse end; found in one piece only.
};

struct FinishTrial {
  int number = 0;
  std::optional<std::string> refused = {};
  std::vector<GrooveFate> grooves = {};
  int false_ones = 0;
  double area_cm2 = 0.0;
  bool count_holds = false;
  double count_low = 0.0, count_high = 0.0;
  int found = 0;
  std::vector<double> lamp_error_deg = {};
  std::optional<double> lay_error_deg = {};
  FinishResult result = {};
  std::vector<SidePicture> pictures = {};
  FinishFace face = {};
};

/// @param suite  Seeds the scene together with the number.
FinishTrial run_finish_trial(const char* suite, int number, const FinishWish& wish);

}  // namespace evenbevel::test
