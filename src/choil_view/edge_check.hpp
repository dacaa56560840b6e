#pragma once

#include <optional>

#include "find_section.hpp"
#include "outline.hpp"
#include "section_plane.hpp"

namespace evenbevel::choil {

/// How far above the end face's edge the blade behind it may show at most and shows at least: by
/// how far the camera stands above the edge, for blades of common length and a blade that slants
/// in the jaws by a degree.
struct ShownAbove {
  double least_mm = 0.0, most_mm = 0.0;
};
ShownAbove shown_above(const SectionPlane& plane, double edge_down_mm);

/// Standard uncertainty of the edge's end for a camera so far above the edge that what lies behind
/// must show over it; 0 to one that is not.
double u_over_the_edge_mm(const ShownAbove& shown);

/// Why the edge found may not be where the blade ends.
struct EdgeDoubt {
  enum class Kind {
    goes_on,   ///< Above what was found something other than paper goes on.
    no_end,    ///< Below the blade's upper end, but no border shows there.
    unparted,  ///< The blade behind must or seems to show above the edge, and was not told from
               ///< the end face.
  };
  Kind kind = Kind::goes_on;
  double by_mm = 0.0;         ///< The other place is so much higher, or lower if unparted.
  double thickness_mm = 0.0;  ///< What that does to the thickness at a given depth.
};

/// Checks the edge's end against the picture about it. Empty: it is where the blade ends, or what
/// stays open does not change a thickness by more than 0.01 mm.
std::optional<EdgeDoubt> doubt_edge(const Patch& patch, const SectionPlane& plane,
                                    const RoughSection& rough, const Outline& outline);

}  // namespace evenbevel::choil
