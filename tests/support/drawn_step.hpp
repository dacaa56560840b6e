#pragma once

namespace evenbevel::test {

/// A straight edge from 0 to 1, blurred by a Gaussian and integrated over a square pixel in closed
/// form, at the pixel whose centre lies so far beyond it.
/// @param slant_rad  Of the edge against the pixel rows.
double drawn_step(double from_edge_px, double sigma_px, double slant_rad = 0.0);

}  // namespace evenbevel::test
