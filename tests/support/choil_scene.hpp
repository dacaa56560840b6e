#pragma once

#include <optional>
#include <random>
#include <vector>

#include <Eigen/Core>

#include "evenbevel/camera.hpp"
#include "evenbevel/frames.hpp"
#include "imaging.hpp"

namespace evenbevel::test {

// A blade seen along from its heel, edge up between jaws, the heel card around it: what the
// renderer draws and what the choil view is compared with. Nothing here uses the measuring code.

/// One side of the section: a chord from the land's border to the flat, bulged or hollowed by an
/// arc of the given radius.
struct BevelSide {
  double height_mm = 30.0;            ///< Depth at which the flat is reached.
  std::optional<double> hollow_mm{};  ///< Radius of the wheel.
  std::optional<double> convex_mm{};  ///< Radius of the bulge.
};

struct SectionShape {
  double thickness_mm = 3.0, spine_mm = 40.0;   ///< Stock; edge to spine.
  double land_mm = 0.25, land_offset_mm = 0.0;  ///< Positive toward the left face.
  BevelSide left, right;
  double taper_per_mm = 0.0;  ///< Of the thickness, along the blade.
  double length_mm = 150.0;
  double belly_from_mm = 90.0, belly_per_mm2 = 0.0;  ///< The edge's fall toward the tip.

  /// How far out a side stands, mm from the mid-plane of the flats. @pre 0 <= depth <= spine_mm.
  double left_at(double depth_mm) const { return at(left_, depth_mm); }
  double right_at(double depth_mm) const { return at(right_, depth_mm); }

  /// Draws the two sides finely; to be called once the fields above are set.
  void draw();

 private:
  static constexpr double kStepMm = 0.02;
  static double at(const std::vector<double>& side, double depth_mm);
  std::vector<double> draw_side(const BevelSide& side, double land_mm) const;
  std::vector<double> left_, right_;
};

/// A lamp's image in a face that mirrors it: light that comes on and goes again along the depth.
struct Streak {
  double at_mm = 0.0, sigma_mm = 1.0;  ///< Depth behind the edge.
  double light = 0.0;                  ///< At its middle, instead of the face's own.
  double share = 0.0;                  ///< Of it there; 0: no streak.
};

/// Linear light of grey things.
struct ChoilPaints {
  double paper = 0.5, end = 0.05, left_side = 0.35, right_side = 0.35, land = 0.3;
  double jaw = 0.01, jaw_top = 0.08, gap = 0.003;
  double white = 0.3, black = 0.02;  ///< The card's print.
  double wall = 0.2;
  double paper_slope_y = 0.0, paper_slope_down = 0.0;  ///< Relative, per mm.
  double end_texture = 0.0;                            ///< Relative, RMS.
  Streak end_streak, left_streak, right_streak;
  double tang_front = 0.03, tang_top = 0.3, tang_side = 0.05;
};

/// The handle's steel toward the camera: as thick as the flats, before the heel's end.
struct Tang {
  double from_mm = 12.0;  ///< Its upper face, behind the edge.
  double length_mm = 60.0;
};

struct ChoilScene {
  SectionShape section;
  ChoilPaints paints;
  double edge_y_mm = 0.0, edge_down_mm = 15.0;  ///< Mid-plane at the edge, in the card's plane.
  double lean_rad = 0.0;        ///< Blade against the card, in its plane; spine to the left.
  double behind_card_mm = 0.0;  ///< The heel's end, behind the card's plane.
  double end_square_rad = 0.0;  ///< The end leans back toward the spine.
  double card_bottom_mm =
      50.0;  ///< Down from the grid's centre, where the card stands on the jaws.
  double jaw_clearance_mm = 0.02;
  double aperture_mm = 2.5;  ///< Diameter; what lies behind the card's plane is out of focus.
  bool blade = true;
  std::optional<Tang> tang{};
  Transform<Camera, Card> T_camera_card;
  CameraModel camera;
  unsigned texture_seed = 1;
};

struct ChoilRandom {
  ChoilScene scene;
  Imaging imaging;
};

/// A choil view as it may come up in a shop, seen at 16-24 px/mm.
ChoilRandom random_choil_scene(std::mt19937_64& rng);

/// The same with the shop's own light: two tubes overhead, a window, a bulb; light that changes
/// along the end and the sides, sides like the end, and mostly the tang toward the camera.
ChoilRandom adverse_choil_scene(std::mt19937_64& rng);

/// Each pixel's mean over its square and the first 0.4 px of the lens's blur. CV_32FC1.
Light render_choil(const ChoilScene& scene);

}  // namespace evenbevel::test
