#pragma once

#include <optional>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "evenbevel/camera.hpp"
#include "evenbevel/card.hpp"
#include "evenbevel/face.hpp"
#include "evenbevel/photo.hpp"
#include "evenbevel/uncertainty.hpp"
#include "evenbevel/words.hpp"

namespace evenbevel {

// The choil view: the cross-section at the heel, edge up, heel toward the camera, inside the heel
// card's cut-out. Section frame: y to the left face, depth from the edge toward the spine.

struct ChoilSettings {
  PrintScale print;
  std::vector<double> at_mm = {0.25, 0.5, 1.0, 2.0, 5.0, 10.0};  ///< Depths behind the edge.
  double angle_from_mm = 1.0;  ///< Range of depth over which sides are fitted and angles stated;
  std::optional<double> angle_to_mm;   ///< to the end of the bevel or of the section seen.
  std::optional<double> thickness_mm;  ///< Stock thickness; checks the scale when flats are seen.
};

/// The section at one depth behind the edge. An empty optional: not seen here.
struct ChoilDepth {
  double depth_mm = 0.0;
  std::optional<Eigen::Vector2d> left_px, right_px;  ///< Outline, stored pixel grid.
  std::optional<Measured> thickness_mm;
  std::optional<Measured> half_left_mm, half_right_mm;  ///< From the section's axis.
  std::optional<Measured> asymmetry_mm;                 ///< Left half minus right half.
};

enum class SideShape { flat, convex, hollow, unresolved };
std::string_view name(SideShape shape);

/// What the section's axis, y = 0, was taken from. Thickness and included angle need no axis.
enum class AxisSource {
  flats,           ///< Mid-plane of the flats, seen above or between the jaws.
  median_and_card  ///< No flats seen: the section's own median line at its deep end, leaning as it
                   ///< and the card's vertical say together.
};
std::string_view name(AxisSource source);

/// One side of the section over the stated range.
struct SectionSide {
  std::optional<Measured> angle_rad;         ///< Against the axis; positive opening to the spine.
                                             ///< Of the straight line fitted over the range.
  SideShape shape = SideShape::unresolved;   ///< Flat: no bow beyond its own interval.
  std::optional<Measured> bow_mm;            ///< Height of the arc over its chord, signed:
                                             ///< positive bulges out (convex).
  std::optional<Measured> hollow_radius_mm;  ///< Hollow only: the grinding wheel's radius.
  std::optional<double> hollow_radius_low_mm, hollow_radius_high_mm;
  ///< Its 95 % interval, which is not symmetric about it; no upper end: a straight side fits too.
};

struct ChoilResult {
  std::optional<Measured> edge_thickness_mm;  ///< Of the land, or at the depth blur allows.
  double edge_depth_mm = 0.0;                 ///< The depth at which that was read; 0: the land.
  std::vector<ChoilDepth> depths;             ///< At the depths asked for.
  std::vector<ChoilDepth> outline;            ///< The whole section seen, finely, for the picture.
  SectionSide left, right;
  std::optional<Measured> included_angle_rad;
  std::optional<Measured> asymmetry_mm;           ///< Of the largest size over the range, signed.
  double asymmetry_depth_mm = 0.0;                ///< Where.
  double range_from_mm = 0.0, range_to_mm = 0.0;  ///< Of depth, used for angles and shape.
  Eigen::Vector2d edge_px = Eigen::Vector2d::Zero();  ///< Middle of the edge, stored pixel grid.
  Eigen::Vector2d axis_px = Eigen::Vector2d::Zero();  ///< Axis, unit vector edge to spine there.
  AxisSource axis_from = AxisSource::median_and_card;
  Measured axis_lean_rad;  ///< Of the axis against the card's vertical; positive: the spine leans
                           ///< to the left face.
  std::optional<Measured> stock_thickness_mm;     ///< Between the flats; empty: not seen.
  double flats_from_mm = 0.0, flats_to_mm = 0.0;  ///< Depths at which they were seen.

  CardPose pose;
  int corners_found = 0;
  double scale_px_per_mm = 0.0;
  double blur_px = 0.0;
  double camera_distance_mm = 0.0;
  double clipped_share = 0.0;  ///< Of the paper beside the section: over-exposed.
  std::vector<Remark> warnings;
  std::vector<Remark> advice;  ///< How to take a better photo.
};

/// Measures one photo.
/// @throws Error  The photo cannot be measured (design, bad input); the message says why and what
///                to do.
ChoilResult choil_view(const Photo& photo, const CameraModel& camera,
                       const ChoilSettings& settings);

}  // namespace evenbevel
