#pragma once

#include <span>

#include "evenbevel/camera.hpp"
#include "evenbevel/edge_view.hpp"
#include "evenbevel/photo.hpp"

namespace evenbevel {

/// Photos of one blade, by one camera at one resolution, with one printed card.
struct EdgePhotos {
  std::span<const Photo> as_clamped;  ///< One or more; the camera may have been moved between.
  std::span<const Photo> turned;      ///< The blade turned end for end in the same jaws; or none.
};

/// Measures several photos as one.
///
/// Photos of one clamping are solved jointly: card poses, lens, and the curves that the borders
/// follow in space, so that heights, and with them facet angles, are measured. The blade turned
/// end for end takes its own offset to the other side of the card and leaves what the set-up adds
/// (jaws, card, light) where it was: half the sum is the blade's, half the difference the set-up's.
///
/// @return  As for one photo; stations carry their place in the first one. `photos` lists them all.
/// @throws Error  A photo cannot be measured; photos of different set-ups, cameras, resolutions or
///                printed cards; a turned photo in which the blade was not turned. The photo is
///                named.
EdgeResult edge_set(const EdgePhotos& photos, const CameraModel& camera,
                    const EdgeSettings& settings);

}  // namespace evenbevel
