#pragma once

#include <opencv2/core/mat.hpp>

#include "evenbevel/card.hpp"
#include "section_plane.hpp"
#include "trace/sharpening.hpp"

namespace evenbevel::choil {

/// How the camera sharpened its picture, from the heel card's printed borders beside the cut-out:
/// they lie in the plane of the heel's end, as sharp as its borders. None where too few show.
Sharpening card_sharpening(const cv::Mat& pixels, const SectionPlane& plane,
                           const PrintScale& print);

}  // namespace evenbevel::choil
