#pragma once

#include <span>

#include "evenbevel/finish_view.hpp"

namespace evenbevel::finish {

/// @throws Error  None, more than eight of a face, or the same photo twice.
void require_photos(std::span<const FinishPhoto> photos);

/// @throws Error  The blade lies elsewhere in one photo than in the other.
void require_still(double moved_mm, const Photo& first, const Photo& other);

}  // namespace evenbevel::finish
