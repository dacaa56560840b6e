#pragma once

#include <optional>
#include <string>
#include <vector>

#include "choil_scene.hpp"
#include "evenbevel/choil_view.hpp"
#include "readings.hpp"

namespace evenbevel::test {

struct ChoilTrial {
  int number = 0;
  std::optional<std::string> refused;
  std::vector<Reading> readings;
  int radii = 0, radii_held = 0;  ///< Hollow radii, and those whose interval holds the truth.
  int wrong_shapes = 0;           ///< Hollow called convex or the reverse, flat called curved.
  ChoilRandom random;
  std::optional<ChoilResult> result;
};

enum class ChoilLight { soft, adverse };

/// A random scene and its photo; the same for a number whatever else is drawn.
struct ChoilPicture {
  ChoilRandom random;
  Photo photo{};
};
ChoilPicture choil_picture(int number, ChoilLight light);

ChoilTrial run_choil_trial(int number, ChoilLight light = ChoilLight::soft);

/// Readings that miss the truth by more than 1.3 U95: a number of them is a false number.
int false_readings(const ChoilTrial& trial);

/// Compares a result with its scene.
void compare(ChoilTrial& trial, const ChoilScene& scene, const ChoilResult& result);

}  // namespace evenbevel::test
