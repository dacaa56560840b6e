#pragma once

#include <optional>
#include <vector>

#include <Eigen/Core>

#include "evenbevel/camera.hpp"
#include "evenbevel/frames.hpp"
#include "lighting.hpp"
#include "paint.hpp"

namespace evenbevel::test {

// A blade edge-up in the slot of the edge card, with everything known: what the renderer draws and
// what a measurement is compared with. Nothing here uses the measuring code; lens, card and
// geometry are written out a second time on purpose. Blade frame, mm, unless said otherwise.

enum class SceneStage { scribed_dye, scribed_bare, ground, bevelled };

/// A slowly changing quantity along the blade.
struct Curve {
  double at_zero = 0.0;
  double slope = 0.0;   ///< Per mm.
  double bow = 0.0;     ///< Per mm^2.
  double ripple = 0.0;  ///< Amplitude of a sine.
  double period_mm = 60.0;
  double phase_rad = 0.0;

  double operator()(double x_mm) const;
};

/// The end of a ground facet: the belt's rounded shoulder, a cylinder across the face.
struct Plunge {
  double x_mm = 0.0;       ///< Where the outline at the edge stands at half the full depth.
  double radius_mm = 3.0;  ///< @pre larger than the cut is deep.
};

struct Facet {
  double angle_rad = 0.785398;    ///< From the mid-plane. Ground stage.
  double bevel_height_mm = 25.0;  ///< Edge to bevel line along z. Bevelled stage.
  Plunge plunge;
};

/// A broken corner between face and flat: a plane. Sharp where either is 0.
struct Corner {
  double across_mm = 0.03;  ///< Taken off the face.
  double down_mm = 0.03;    ///< Taken off the flat.

  bool sharp() const { return across_mm <= 0.0 || down_mm <= 0.0; }
};

/// Steel pushed over a border of the land, over stretches of the length.
struct Burr {
  double width_mm = 0.0;     ///< At its widest; 0: none.
  bool left = true;          ///< Which border.
  double stretch_mm = 20.0;  ///< Length of the stretches with and without it.
};

/// A single deep scratch across the edge.
struct Scratch {
  double x_mm = 0.0, lean = 0.0;  ///< Place on the mid-plane; dx/dy.
  double width_mm = 0.04;
  double level = 0.5;  ///< Its brightness over that of the steel around it.
};

struct Speck {
  double x_mm = 0.0, y_mm = 0.0, radius_mm = 0.1;
  double level = 0.4;
};

struct BladeShape {
  SceneStage stage = SceneStage::ground;
  double thickness_mm = 3.2;
  double x_min_mm = -20.0, x_max_mm = 90.0;  ///< From the heel's end to the tip's.
  Curve offset_mm;                           ///< c(x), of the lines or of the land.
  Corner corner_left, corner_right;
  Burr burr;  ///< Ground, bevelled.

  double line_gap_mm = 0.3;  ///< Between the lines' centres. Scribed.
  double line_width_mm = 0.045;
  double line_depth_mm = 0.018;    ///< Of the groove, whose two walls catch the light unlike.
  double line_roughness_mm = 0.0;  ///< RMS wander of a line's borders, not in the truth.

  Curve land_width_mm{.at_zero = 0.3};  ///< Ground, bevelled.
  Facet left, right;

  bool has_facets() const { return stage == SceneStage::ground || stage == SceneStage::bevelled; }
};

/// One jaw, its top level with the card's lower side.
struct Jaw {
  bool there = true;
  double gap_mm = 0.0;  ///< Between it and the flat.
};

/// How the blade and its card stand to each other and to the camera.
struct SetUp {
  double card_x_mm = -40.0, card_y_mm = 0.0;  ///< Card frame: foot of the blade's origin.
  double in_plane_rad = 0.0;                  ///< Blade against the card's x, about the card's z.
  bool tip_left = false;                      ///< Else the tip points along +x of the card.
  double jaw_tilt_rad = 0.0;  ///< Flats against the card's normal: the jaws are not square.
  Curve edge_height_mm{.at_zero = 4.0};  ///< Edge above the card's top, along the blade.
  double card_thickness_mm = 0.4;
  Jaw jaw_left, jaw_right;  ///< At the blade's sides.
  double slot_half_width_mm = 4.0;
  double slot_x_min_mm = -120.0, slot_x_max_mm = 150.0;  ///< Card frame; open at the right end.
  double print_along = 1.0, print_across = 1.0;          ///< Printed / nominal.
  Transform<Camera, Card> T_camera_card;
};

/// Levels in even light; under lamps (`EdgeScene::lighting`) reflectances.
struct Paints {
  Paint face = grey_paint(0.30);  ///< Unground edge face: bare steel or dye.
  Paint line_left = grey_paint(0.75), line_right = grey_paint(0.75);
  Paint land = grey_paint(0.22);
  Paint facet_left = grey_paint(0.60), facet_right = grey_paint(0.55);
  Paint fillet_left = grey_paint(0.70), fillet_right = grey_paint(0.70);
  Paint burr = grey_paint(0.80);
  Paint chamfer_left = grey_paint(0.50), chamfer_right = grey_paint(0.50);
  Paint flat_left = grey_paint(0.12), flat_right = grey_paint(0.12);
  Paint blade_end = grey_paint(0.08);
  Paint jaw = grey_paint(0.05);
  Paint gap = grey_paint(0.006);      ///< Between the jaws, beside the blade.
  Paint card_cut = grey_paint(0.40);  ///< The card's own thickness, seen in the slot.
  Paint white = grey_paint(0.62), black = grey_paint(0.03);
  Paint lane{0.030F, 0.110F, 0.003F};
  Paint table{0.05F, 0.09F, 0.13F};
};

/// Relative modulation of brightness; 0.1 is 10 % RMS or so.
struct Texture {
  double across = 0.0;  ///< Belt scratches across the edge: fine along the blade.
  double across_mm = 0.15;
  double along = 0.0;  ///< Streaks along the blade: fine across it.
  double along_mm = 0.08;
  double slow = 0.0;  ///< Brightness that drifts along the blade.
  double slow_mm = 15.0;
};

struct EdgeScene {
  BladeShape blade;
  SetUp set_up;
  Paints paints;
  Texture face_texture, facet_texture, land_texture, line_texture, jaw_texture;
  std::vector<Scratch> scratches;
  std::vector<Speck> specks;
  std::optional<Lighting> lighting;                 ///< Empty: every surface has its paint's level.
  Finishes finishes;                                ///< Under lamps.
  double light_slope_x = 0.0, light_slope_y = 0.0;  ///< Relative change over the picture's width.
  unsigned texture_seed = 1;
  CameraModel camera;  ///< The true one.
};

Transform<Card, Blade> card_from_blade(const SetUp& set_up);
Transform<Camera, Blade> camera_from_blade(const SetUp& set_up);

/// The blade cut across at x: everything inside all of these lines is steel.
struct CrossSection {
  double left_mm = 0.0, right_mm = 0.0;    ///< y of the face's or the land's borders (no chamfer).
  double edge_z_mm = 0.0;                  ///< Blade frame; grows toward the spine.
  double tan_left = 1.0, tan_right = 1.0;  ///< dy/dz of the facets.
  double fillet_left = 0.0, fillet_right = 0.0;  ///< 0: the facet proper, 1: not cut here.
};
CrossSection cross_section(const EdgeScene& scene, double x_mm);

/// What a perfect gauge would read at one station.
struct StationTruth {
  double x_mm = 0.0;
  double offset_mm = 0.0;
  double width_mm = 0.0;  ///< Land width, or the gap between the lines.
  std::optional<double> facet_left_mm, facet_right_mm;  ///< Seen from above, clear of the fillets.
  double left_mm = 0.0, right_mm = 0.0;                 ///< Land borders, or the lines' centres.
  Eigen::Vector2d middle_px{}, left_px{}, right_px{};
  Eigen::Vector2d flat_left_px{}, flat_right_px{};  ///< Outer corner, where the flat begins.
  /// Step of linear light at the land's borders over the facet beside them, or of the lines over
  /// the face: (land - facet) / facet, of the channel where it is largest. Texture, dust and blur
  /// left aside.
  double contrast_left = 0.0, contrast_right = 0.0;
};
StationTruth truth_at(const EdgeScene& scene, double x_mm);

/// The station whose middle lies nearest to a pixel.
StationTruth truth_nearest(const EdgeScene& scene, const Eigen::Vector2d& q_px);

/// Both facets are cut to their full depth here (or there are none).
bool clear_of_plunges(const EdgeScene& scene, double x_mm);

/// Pixel of a point of the blade, through the scene's own lens.
Eigen::Vector2d pixel_of(const EdgeScene& scene, const Point<Blade>& p_blade);
/// Pixel of a point of the card, in nominal card mm (before the printer's scale).
Eigen::Vector2d pixel_of_print(const EdgeScene& scene, const Eigen::Vector2d& nominal_mm);

}  // namespace evenbevel::test
