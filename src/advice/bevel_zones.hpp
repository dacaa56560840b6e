#pragma once

#include <optional>
#include <vector>

#include "evenbevel/face.hpp"
#include "evenbevel/side_view.hpp"
#include "evenbevel/words.hpp"

namespace evenbevel {

/// Stations in a row, all of which were seen on both faces and ask for the same thing.
struct BevelZone {
  std::optional<Face>
      grind;  ///< The face whose bevel line stands lower; empty: neither is known to.
  double from_mm = 0.0, to_mm = 0.0;  ///< x of its first and last station.
  int stations = 0;
  Measured least_mm = {},
           most_mm = {};  ///< By how much that line has still to come up; zero for none.
  double most_x_mm = 0.0;
};

/// From handle to tip. A face is named at exactly those stations where the difference is larger
/// than its U95 and, with a tolerance, not wholly within it. A station not seen on both faces ends
/// a zone and is in none.
std::vector<BevelZone> bevel_zones(const SideResult& result, std::optional<double> tolerance_mm);

/// "0.42 to 0.71 mm"; "up to 0.28 mm" where it changes by less than its interval.
Remark come_up_remark(const BevelZone& zone);

/// What the ribbon says for one face: "bring up by 0.42 to 0.71 mm", or "leave".
Remark bevel_face_remark(const BevelZone& zone, Face face);

/// For the zones of one face; empty when there are none.
std::optional<Remark> grind_face_remark(const std::vector<BevelZone>& zones, Face face);

}  // namespace evenbevel
