#pragma once

#include <optional>
#include <string>
#include <vector>

#include "choil_scene.hpp"
#include "evenbevel/choil_view.hpp"

namespace evenbevel::test {

/// One number read against its truth.
struct Reading {
  std::string quantity;
  double error = 0.0, U95 = 0.0;
  bool held() const { return std::abs(error) <= U95; }
};

struct ChoilTrial {
  int number = 0;
  std::optional<std::string> refused;
  std::vector<Reading> readings;
  int radii = 0, radii_held = 0;  ///< Hollow radii, and those whose interval holds the truth.
  int wrong_shapes = 0;           ///< Hollow called convex or the reverse, flat called curved.
  ChoilRandom random;
  std::optional<ChoilResult> result;
};

ChoilTrial run_choil_trial(int number);
/// Compares a result with its scene.
void compare(ChoilTrial& trial, const ChoilScene& scene, const ChoilResult& result);

struct ChoilTally {
  int readings = 0;
  double rms = 0.0, worst = 0.0, mean = 0.0, held = 0.0, median_U95 = 0.0;
};
ChoilTally tally(const std::vector<ChoilTrial>& trials, const std::string& quantity);

}  // namespace evenbevel::test
