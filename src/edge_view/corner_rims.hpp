#pragma once

#include <cmath>
#include <optional>

#include "card_look.hpp"
#include "rims.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

// The rims of an unground face. Between the face and the flat lies a broken corner, a strip some
// hundredths of a mm wide that glints or stays dark: narrower than the blur, so that it shows as a
// bump or as nothing but a shift of the border. Face, corner, flat and what lies behind are one
// model, fitted to what a stretch of the rim shows in every colour at once. The corner's width and
// light are free within what corners are; what that leaves unknown of the rim is its uncertainty.

/// A rim as a straight line with what is unknown of its place all along.
struct CornerRim {
  StripLine line;
  double u_mm = 0.0;        ///< Shared by all places: the corner.
  double scatter_mm = 0.0;  ///< Of single stretches about the line.
};

struct CornerRims {
  CornerRim high, low;

  double u_mid_mm() const { return 0.5 * std::hypot(high.u_mm, low.u_mm); }
};

/// @param rough  Either rim within 2 px or so, with the borders beside it.
/// @param spread  As printed borders show it.
/// Empty: the model fits one of the rims in too few stretches.
std::optional<CornerRims> fit_corner_rims(const LaneImage& image, const StripFrame& frame,
                                          double px_per_mm, const RimPair& rough,
                                          const Spread& spread);

}  // namespace evenbevel::edge
