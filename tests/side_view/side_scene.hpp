#pragma once

#include <functional>
#include <optional>
#include <random>

#include <Eigen/Core>
#include <opencv2/core/mat.hpp>

#include "evenbevel/camera.hpp"
#include "evenbevel/face.hpp"
#include "evenbevel/frames.hpp"
#include "evenbevel/photo.hpp"
#include "imaging.hpp"

namespace evenbevel::test {

// A blade lying flat on the side card, with everything known. Nothing here uses the measuring
// code. Blade frame: x to the tip, z from the edge up to the spine, both faces in one frame.

struct SideFaceShape {
  double bevel_mm = 20.0;         ///< z of the bevel line at x = 0, over z = 0.
  double bevel_slope = 0.0;       ///< Its rise per mm toward the tip, besides the belly's.
  double plunge_x_mm = 0.0;       ///< Of the crease at z = 0.
  double plunge_lean_rad = 0.15;  ///< To the tip going up.
  double plunge_radius_mm = 5.0;  ///< Of its curve into the bevel line.
};

struct SideBlade {
  double thickness_mm = 3.0, tip_thickness_mm = 3.0;
  double land_mm = 0.3;
  double handle_x_mm = -32.0, tip_x_mm = 110.0;
  double height_mm = 32.0;
  double belly_x_mm = 50.0;  ///< The edge rises from here to the spine at the tip.
  SideFaceShape left, right;

  double edge_z(double x_mm) const;
  double bevel_z(Face face, double x_mm) const;
  /// x of the crease at a height; toward the tip of it the face is ground.
  double crease_x(Face face, double z_mm) const;
  double upper_mm(double x_mm) const;  ///< Thickness: the upper face over the card.
};

/// Brightness of what is seen, linear; contrast may turn round along the blade.
struct SideLook {
  double flat = 0.35;
  double bevel_at_plunge = 0.45, bevel_at_tip = 0.45;
  double ramp = 0.6;      ///< Between crease and bevel.
  double texture = 0.10;  ///< Of the scratches, relative.
  double texture_mm = 0.15, texture_run_mm = 6.0;
  double light_slope = 0.0;  ///< Relative change from end to end.
  double shadow = 0.0;       ///< Darkening of the lane beside the blade, 0..1.
  bool colour = true;        ///< Of the print; else grey.
  unsigned seed = 1;
  /// Light that comes from a place (x, z, height over the card) of the face, instead of all that.
  std::function<double(double x_mm, double z_mm, double height_mm)> surface = {};
  std::function<double(const Eigen::Vector2d& card_mm)> paper = {};  ///< Light on the card; else 1.
};

struct SidePose {
  double card_x_mm = 0.0, card_y_mm = 0.0;  ///< Card frame: the blade's middle.
  double turn_rad = 0.0;                    ///< Blade against the card.
  double distance_mm = 290.0;
  double tilt_x_rad = 0.0, tilt_y_rad = 0.0, roll_rad = 0.0;
  double aside_x_mm = 0.0, aside_y_mm = 0.0;  ///< Camera off the card's middle.
  double finer = 1.0;                         ///< Pixels along either side, of 2400 x 1720.
};

/// How a blade lies on the card: of its x and z.
struct SideLie {
  Eigen::Vector2d origin, along, up;  ///< Card frame.
};
SideLie side_lie(const SideBlade& blade, Face face, const SidePose& pose);

/// The camera's place, card frame.
Eigen::Vector3d side_eye(const SidePose& pose);

struct SidePicture {
  Photo photo;
  CameraModel camera;
  Transform<Camera, Card> T_camera_card;
  Eigen::Vector2d origin, along, up;  ///< Card frame, of the blade's x and z.

  /// Place in the photo of a point of the blade at a height over the card.
  Eigen::Vector2d pixel(double x_mm, double z_mm, double height_mm) const;
};

/// 8-bit colour picture of one face; without a blade: the bare card.
SidePicture take_side_picture(const SideBlade* blade, Face face, const SideLook& look,
                              const SidePose& pose, const Imaging& imaging, std::mt19937_64& rng);

}  // namespace evenbevel::test
