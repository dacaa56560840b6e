#pragma once

#include <array>

namespace evenbevel {

/// Cells along a marker's side: five bits and a black rim.
inline constexpr int kMarkerCells = 7;

/// A marker's side over the pitch of the grid.
inline constexpr double kMarkerShare = 0.75;

/// True: white. Row by row from the top left.
using MarkerBits = std::array<std::array<bool, kMarkerCells>, kMarkerCells>;

/// @pre 0 <= id < 1000
MarkerBits marker_bits(int id);

}  // namespace evenbevel
