#pragma once

#include "outline.hpp"
#include "section_plane.hpp"

namespace evenbevel::choil {

/// Leaves out points at which the border read is softer than the end face's own: the camera is
/// focused on the end, and what is as light as it but lies far behind ends out of focus.
void drop_unfocused(Outline& outline, const Patch& patch, const SectionPlane& plane);

}  // namespace evenbevel::choil
