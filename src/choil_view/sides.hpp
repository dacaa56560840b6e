#pragma once

#include <optional>
#include <span>
#include <vector>

#include <Eigen/Core>

namespace evenbevel::choil {

/// One side of the section: how far out it stands (mm, positive outward) at a depth.
struct SidePoint {
  double depth_mm = 0.0;
  double out_mm = 0.0;
  double u_mm = 0.0;  ///< From the fit alone.
};

/// A reading between the bands: a straight line through those about it.
struct SideReading {
  double out_mm = 0.0, slope = 0.0;
  double u_mm = 0.0;  ///< Location noise.
};

/// Scatter of the points about their neighbours' parabola over what their u says; not below 1.
double scatter_over_u(std::span<const SidePoint> side);

/// Empty: not enough points about this depth.
std::optional<SideReading> read_side(std::span<const SidePoint> side, double depth_mm,
                                     double scatter);

/// How much a width's growth changes along the depth, mm per mm twice; positive: hollow sides.
struct Bend {
  double per_mm = 0.0;
  double u = 0.03;  ///< Not known: hollow or convex sides of 70 mm radius.
};

/// The width at a depth above its first bands: a parabola through those of the first 1.5 mm, bent
/// as the whole section is, strays counting less. Noise as the bands scatter about it, neighbours
/// sharing their errors.
/// Empty: fewer than 6 of them, or none within 0.5 mm of the edge.
std::optional<SideReading> carry_to_edge(std::span<const SidePoint> width, double depth_mm,
                                         const Bend& bend, double scatter);

/// A side over a range of depth, once as a straight line and once as an arc.
struct SideFit {
  double angle_rad = 0.0, u_angle_rad = 0.0;         ///< Opening to the spine; location noise.
  double curvature_per_mm = 0.0, u_curvature = 0.0;  ///< Positive: hollow. Location noise.
  double chord_mm = 0.0;
  double scatter_mm = 0.0;  ///< Of one point about the arc.
  double dof = 0.0;
};

/// The arc is fitted in the frame of the chord, where its distance to a point is that across the
/// chord to second order: h = h0 + turn x + c x^2 / (1 + sqrt(1 - c^2 x^2)), c the curvature. c is
/// near normal even where the radius 1 / c is not, so an interval of c maps to one of the radius.
std::optional<SideFit> fit_side(std::span<const SidePoint> side, double from_mm, double to_mm);

}  // namespace evenbevel::choil
