#pragma once

#include <optional>
#include <span>

#include "evenbevel/side_view.hpp"
#include "silhouette.hpp"

namespace evenbevel::side {

/// Empty: the outline does not tell spine from edge.
std::optional<Face> face_of(const RoughBlade& blade);

/// The blade as it must lie for this face. When the outline does not tell spine from edge, the face
/// given does.
/// @throws Error  It shows the other face: the tip points the wrong way.
RoughBlade facing(const RoughBlade& blade, Face face);

/// @throws Error  No photo, more than two, two of one face, the same photo twice.
void require_photos(std::span<const FacePhoto> photos);

/// @throws Error  Thickness not given or not credible.
void require_settings(const SideSettings& settings);

}  // namespace evenbevel::side
