#pragma once

#include <optional>
#include <span>
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

// The side view: the blade flat on the lane of the side card, camera above, one photo a face.
// Blade frame: x to the tip, z from the edge up to the spine; x runs along the spine's or edge's
// straight part at the handle. Both faces are in one frame (the right one mirrored and fitted onto
// the left one by its outline).

/// A place along the blade at which the bevel height is asked for.
struct AskedPlace {
  double distance_mm = 0.0;
  bool from_tip = false;  ///< Back from the tip; else from the plunge line toward the tip.
};

/// A part of the blade's length.
struct BladeStretch {
  double from_mm = 0.0, to_mm = 0.0;
};

struct SideSettings {
  double thickness_mm = 0.0;               ///< Stock thickness: the upper face above the card.
  double thickness_u_mm = 0.005;           ///< Standard uncertainty of that reading.
  std::optional<double> tip_thickness_mm;  ///< Distal taper: thickness at the tip, else as stock.
  std::optional<double> land_mm;           ///< Edge thickness under the bevels; gives the angles.
  std::optional<double> centreline_offset_mm;  ///< Of the land, positive to the left face; else 0.
  PrintScale print;
  double step_mm = 1.0;                   ///< Distance between stations.
  std::vector<AskedPlace> places;         ///< Bevel heights wanted there.
  std::optional<BladeStretch> mean_over;  ///< Means over this much alone, x from the plunge line.
};

/// One photo of one face. Both must outlive the call.
struct FacePhoto {
  Face face = Face::left;
  const Photo* photo = nullptr;
  const CameraModel* camera = nullptr;
};

/// Which face a photo of a blade on the side card shows, by where tip and spine lie. Empty: spine
/// and edge are too much alike.
/// @throws Error  No side card, or no blade on it.
std::optional<Face> face_shown(const Photo& photo, const CameraModel& camera,
                               const SideSettings& settings);

/// One face at one place along the blade. An empty optional: not seen here.
struct FaceStation {
  std::optional<Eigen::Vector2d> edge_px, bevel_px, spine_px;  ///< Stored pixel grid.
  std::optional<Measured> bevel_height_mm;                     ///< Edge to bevel line, along z.
  std::optional<Measured> spine_to_bevel_mm;                   ///< Bevel line to spine, along z.
  std::optional<Measured> blade_height_mm;                     ///< Edge to spine.
  std::optional<Measured> bevel_angle_rad;  ///< From the mid-plane; needs the land.
};

struct SideStation {
  double x_mm = 0.0;
  FaceStation left, right;
  std::optional<Measured> bevel_height_difference_mm;  ///< Left minus right.
  std::optional<Measured> included_angle_rad;
};

/// Bevel heights at a place that was asked for. An empty optional: not seen there.
struct BevelAtPlace {
  AskedPlace asked;
  double x_mm = 0.0;
  std::optional<Measured> left_mm, right_mm, difference_mm;  ///< Difference: left minus right.
};

/// Where the plunge lines stand at one height above the edge. A plunge line is a ramp from the flat
/// down to the bevel; measured is its border with the flat, the crease where the flat begins to
/// drop. It is what the eye sees. The ramp's half depth lies nearer to the tip, its foot in the
/// bevel nearer still.
struct PlungeAtHeight {
  double z_mm = 0.0;
  std::optional<Measured> left_mm, right_mm;  ///< x of the crease.
  std::optional<Measured> mismatch_mm;        ///< Positive: the left one is nearer the tip.
};

/// A curve on one face, for the annotated picture.
struct FaceTrace {
  enum class Kind { edge, spine, bevel, plunge };
  Kind kind = Kind::edge;
  Face face = Face::left;
  std::vector<Eigen::Vector2d> points_px;  ///< Stored pixel grid of that face's photo.
  std::vector<Eigen::Vector2d> points_mm;  ///< (x, z) in the blade frame, a point each.
  double coverage = 0.0;                   ///< Share of its length where it was found.
};
std::string_view name(FaceTrace::Kind kind);

/// How one face was seen.
struct FaceLook {
  Face face = Face::left;
  CardPose pose;
  int corners_found = 0;
  double scale_px_per_mm = 0.0;
  double blur_px = 0.0;
  double camera_distance_mm = 0.0;
  double bevel_coverage = 0.0;  ///< Share of the bevel's length where its line was found.
  double clipped_share = 0.0;   ///< Share of the face that is pure white.
};

/// How the right face's outline lies over the left one's.
struct OutlineFit {
  double rms_mm = 0.0;  ///< Distance between the two outlines, robust.
  double worst_mm = 0.0;
  double u_x_mm = 0.0, u_z_mm = 0.0, u_turn_rad = 0.0;  ///< Standard uncertainties of the fit.
};

struct SideResult {
  std::vector<FaceLook> faces;         ///< One or two, left first.
  std::optional<OutlineFit> outlines;  ///< Both faces only.
  bool x_from_plunge = false;  ///< x = 0 midway between the plunge lines at mid-height (with one
                               ///< face: at its plunge line), else at the handle end of the blade.

  std::optional<double> tip_x_mm;  ///< Where the tip was seen.

  // Summary; empty: not seen, or only one face.
  std::optional<Measured> bevel_height_left_mm, bevel_height_right_mm;  ///< Mean over the stations.
  std::optional<Measured> bevel_height_difference_mm;                   ///< Left minus right, mean.
  std::optional<BladeStretch> bevel_stretch_left,
      bevel_stretch_right;  ///< x, first and last of the mean.
  std::optional<BladeStretch> bevel_stretch_difference;
  std::vector<BevelAtPlace> bevel_at;  ///< In the order asked; only where the place is known.
  std::optional<Measured> bevel_height_difference_worst_mm;  ///< Signed, largest by size.
  double worst_x_mm = 0.0;
  std::optional<Measured> spine_to_bevel_left_mm, spine_to_bevel_right_mm;  ///< Mean.
  std::optional<Measured> bevel_straightness_left_mm, bevel_straightness_right_mm;
  ///< Width of the narrowest zone that holds the bevel line's straight part (ISO 1101).
  double plunge_z_mm = 0.0;  ///< Mid-height of the bevel: half the mean bevel height at the plunge.
  std::optional<Measured> plunge_left_mm, plunge_right_mm;  ///< x of the crease at plunge_z_mm.
  std::optional<Measured> plunge_mismatch_mm;  ///< Positive: the left one is nearer the tip.
  std::optional<Measured> plunge_angle_left_rad, plunge_angle_right_rad;
  ///< Against the edge's normal, positive when the plunge line leans to the tip going up.
  ///< The straight part of the crease, a tenth to seven tenths of the bevel's height.
  std::optional<Measured> plunge_angle_difference_rad;
  /// Of the arc by which the crease runs into the bevel line, in the plan of the face. Empty when
  /// the picture does not resolve it, or when it is no arc.
  std::optional<Measured> plunge_radius_left_mm, plunge_radius_right_mm;
  std::optional<Measured> plunge_radius_difference_mm;
  std::optional<Measured> bevel_angle_left_rad, bevel_angle_right_rad,
      included_angle_rad;  ///< Mean.

  std::vector<PlungeAtHeight> plunges;
  std::vector<SideStation> stations;  ///< From handle to tip, every step_mm along the blade.
  std::vector<FaceTrace> traces;
  std::vector<Remark> warnings;
  std::vector<Remark> advice;  ///< How to take a better photo.
};

/// Measures one face, or both against each other.
/// @param photos  One or two, of different faces.
/// @throws Error  A photo cannot be measured (design, bad input): no or wrong card, no blade in the
///                lane, blade over the markers, blurred; left and right swapped; the same photo
///                twice; outlines of two different knives, with by how much.
SideResult side_view(std::span<const FacePhoto> photos, const SideSettings& settings);

}  // namespace evenbevel
