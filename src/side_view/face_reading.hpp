#pragma once

#include <optional>
#include <utility>
#include <vector>

#include "evenbevel/side_view.hpp"
#include "plunge.hpp"
#include "plunge_curve.hpp"

namespace evenbevel::side {

/// From the plane's own axes to the blade's: turned and shifted, for one face.
struct BladeAxes {
  double turn_rad = 0.0;                                ///< Of the blade's x against the plane's.
  Eigen::Vector2d origin_mm = Eigen::Vector2d::Zero();  ///< Of the blade frame, on the plane.

  Eigen::Vector2d blade(const Eigen::Vector2d& on_plane_mm) const;
  Eigen::Vector2d plane(const Eigen::Vector2d& in_blade_mm) const;
  /// Blade axes first turned, then shifted, in the blade's own frame.
  BladeAxes moved(double turn_rad, const Eigen::Vector2d& shift_mm) const;
};

/// One face, read. All lengths mm; curves and readings in this face's own blade axes, each at the
/// height where it lies.
struct FaceReading {
  FaceReading(Face of_face, FacePlane on_plane) : face(of_face), plane(std::move(on_plane)) {}

  BladeAxes axes;
  std::optional<Eigen::Vector2d> tip;
  Face face;
  bool handle_seen = false;
  FaceLook look;
  FacePlane plane;
  double length_mm = 0.0;
  Curve edge, spine;
  std::vector<Eigen::Vector2d> heel;
  double outline_u_mm = 0.0;  ///< Scatter of an outline reading.
  std::vector<BevelReading> bevel;
  std::optional<StraightCrease> crease;
  std::optional<PlungeArc> arc;           ///< Its place is not kept: the radius alone.
  std::vector<PlungeReading> plunge;      ///< Empty: none seen.
  std::optional<double> bevel_height_mm;  ///< About the plunge, or over its first stretch.
  double edge_height_u_mm = 0.0;          ///< Of the edge's height over the card.

  double edge_height(double x_mm) const;  ///< Over the card, of the edge as seen.
  double spine_height(double x_mm) const;
  double upper(double x_mm) const;  ///< Of the upper face.
  /// Pixel of a point of the blade frame at a height over the card.
  Eigen::Vector2d pixel(const Eigen::Vector2d& in_blade_mm, double height_mm) const;

  double look_spine_z_mm = 0.0;                          ///< Where the spine lies, on the plane.
  double edge_on_flat_mm = 0.0, edge_on_bevel_mm = 0.0;  ///< Heights either side of the plunge.
  double ramp_from_mm = -1e9, ramp_to_mm = -1e9;         ///< x between which the one turns into
                                                         ///< the other; far off without a plunge.
};

/// As face_shown.
std::optional<Face> face_in(const Photo& photo, const CameraModel& file,
                            const SideSettings& settings);

FaceReading read_face(const FacePhoto& photo, const SideSettings& settings);

}  // namespace evenbevel::side
