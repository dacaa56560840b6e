#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenbevel/side_view.hpp"
#include "readings.hpp"
#include "side_scene.hpp"

namespace evenbevel::test {

/// Both faces of one random blade, each in light and pose of its own.
struct SideTrial {
  int number = 0;
  std::optional<std::string> refused;
  std::vector<Reading> readings;
  int stations = 0, covered = 0;  ///< Of the ground part of both faces; those with a bevel height.
};

SideTrial run_side_trial(int number);

}  // namespace evenbevel::test
