#pragma once

#include <optional>
#include <vector>

#include "evenbevel/edge_view.hpp"

namespace evenbevel {

/// Where one border of the land (or one scribe line) stands against its line.
enum class Standing {
  outside,  ///< Still steel to lose, or a line scribed too far out.
  on_line,  ///< As far as the 95 % interval can tell.
  past,     ///< Ground too far, or a line scribed too far in.
};

/// What separates the land (or the scribe lines) from where it should be, at one station or over a
/// zone. Lengths are across the blade, seen from above.
struct Need {
  double x_mm = 0.0;
  Measured left_mm;                  ///< The left border's way to its line; negative: already past.
  Measured right_mm;                 ///< The right border's.
  Measured offset_mm;                ///< Centreline offset.
  std::optional<Measured> width_mm;  ///< Of the land or between the lines.
  bool within_tolerance = false;     ///< The whole interval of the offset is; false without one.
};

/// Stations in a row that ask for the same thing.
struct Zone {
  double from_mm = 0.0;
  double to_mm = 0.0;
  Standing left = Standing::on_line;
  Standing right = Standing::on_line;
  Need mean;
  std::vector<Need> needs;

  double length_mm() const { return to_mm - from_mm; }
};

/// Whether the interval says so.
Standing standing(const Measured& need_mm);

/// From handle to tip. Without a wanted width, centring alone is asked for: the face toward which
/// the land stands has twice the offset to lose, the other nothing; scribe lines keep their gap.
std::vector<Zone> zones(const EdgeResult& result, std::optional<double> wanted_width_mm,
                        std::optional<double> tolerance_mm);

}  // namespace evenbevel
