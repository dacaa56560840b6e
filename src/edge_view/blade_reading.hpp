#pragma once

#include <optional>
#include <vector>

#include "found_blade.hpp"
#include "lane_picture.hpp"
#include "plunge.hpp"
#include "readings.hpp"

namespace evenbevel::edge {

// Second step: every border of the blade that was found, read along the blade, in the frame of the
// lane (s to the right of the card).

struct BladeReading {
  Inner inner;      ///< Lines or land, clear of the plunge lines.
  FlatsPair flats;  ///< Where the flats are read.
  int handle = 0;   ///< +1: toward larger s, -1: toward smaller, 0: not known.
  PlungeLines plunges;
  ReadingPlan plan;
  std::vector<BandReadings> bands;
  std::optional<CornerRims> corners;  ///< Of unground flats.
  double lamp = 0.0;                  ///< From which side the light comes; scribe lines only.

  Tip tip() const { return handle > 0 ? Tip::left : Tip::right; }
};

/// @throws Error  The plunge lines leave too little, a third border shows in the land, the rims
///                cannot be told from what lies beside them, or the edge is over-exposed.
BladeReading read_blade(const LanePicture& lane, const Found& found, const EdgeSettings& settings);

/// What the choice between pairs of borders leaves open: half of the largest distance between the
/// chosen pair's mid-line and a rival's, once both are laid through their borders.
/// @throws Error  So far apart that the photo does not say where the middle is.
double disagreement_mm(const LaneImage& image, const StripFrame& frame, const BladeReading& read,
                       const std::vector<FlatsPair>& rivals);

}  // namespace evenbevel::edge
