#pragma once

#include <span>

namespace evenbevel {

// Readings of a border that lie near each other share their errors: a scratch, a jaw's shade, the
// pixels themselves. However closely they are read, they count by the length.

/// From so far apart on readings err each for itself, mm along the border (of the order of what a
/// scratch or a streak of brushed steel runs on; common practice, no source).
inline constexpr double kBorderSharedMm = 4.0;    ///< Rims, lands, lines, seen from above.
inline constexpr double kBevelSharedMm = 3.0;     ///< Bevel lines and outlines of a face.
inline constexpr double kPlungeSharedMm = 2.25;   ///< Plunge lines of a face, up the blade.
inline constexpr double kOutlinesSharedMm = 6.0;  ///< One face's outline laid over the other's.

/// How many readings over a length err each for itself; at least one.
double independent(double length_mm, double shared_mm);

/// How many readings, so far apart, count as one; at least one.
double counted_as_one(double apart_mm, double shared_mm);

/// By how much the variance of a mean grows where neighbours share their errors, as in a
/// first-order autoregression: from the readings themselves.
/// @param own, lagged  Sums of the residuals' squares, and of each one's product with the next.
/// @param most         Of the correlation that is believed, below 1.
double neighbours_inflation(double own, double lagged, double most);

/// The same from means of blocks: factor on u, from 1 to 2.5; 1.5 where there are too few to tell.
double block_inflation(std::span<const double> residuals);

}  // namespace evenbevel
