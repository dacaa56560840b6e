#pragma once

#include "edge_picture.hpp"
#include "evenbevel/edge_view.hpp"

namespace evenbevel::outside {

/// A twentieth of a pixel at 15 px/mm: the accuracy claimed for sub-pixel edges on drawn pictures
/// (F. Devernay, INRIA RR-2724, 1995: below a tenth of a pixel, for one border).
inline constexpr double kOffset_mm = 0.003;

/// Tip to the right, stations 2 mm apart.
EdgeSettings settings_of(double thickness_mm, Stage stage);

EdgeResult measure(const EdgePicture& picture, const EdgeSettings& settings);

/// The mean and 95 of 100 stations inside their own interval, 95 of 100 read.
void expect_held(const EdgeResult& result, double truth_mm);

/// And the mean within kOffset_mm.
void expect_offset(const EdgeResult& result, double truth_mm);

}  // namespace evenbevel::outside
