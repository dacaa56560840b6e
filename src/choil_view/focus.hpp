#pragma once

#include <functional>

#include "outline.hpp"
#include "section_plane.hpp"

namespace evenbevel::choil {

/// Leaves out points at which the border read is softer than the end face's own: the camera is
/// focused on the end, and what is as light as it but lies far behind ends out of focus. Only where
/// nothing was seen beside the end face: a soft border close by would pass for softness of its own.
/// @param shown_px  How far the blade behind shows at a height.
void drop_unfocused(Outline& outline, const Patch& patch, const SectionPlane& plane,
                    const std::function<double(double down_mm)>& shown_px);

/// To a camera right along the blade, parts of the lens's opening see past the end's borders a
/// strip of the sides behind, too narrow to be told from blur: it makes the borders softer than the
/// card's, and moves them outward by no more than this. 0: as sharp as the card's.
/// @param card_blur_px  0: not known.
double fringe_px(double border_blur_px, double card_blur_px);

}  // namespace evenbevel::choil
