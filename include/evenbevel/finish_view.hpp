#pragma once

#include <array>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <Eigen/Core>

#include "evenbevel/camera.hpp"
#include "evenbevel/card.hpp"
#include "evenbevel/face.hpp"
#include "evenbevel/photo.hpp"
#include "evenbevel/uncertainty.hpp"
#include "evenbevel/words.hpp"

namespace evenbevel {

// The finish view: the blade flat on the side card, one lamp moved round it between the photos.
// A scratch is a groove; its walls send the lamp's light to the camera where the lamp shines across
// it. Found are bright, straight, narrow lines that run across the present grit's scratches (the
// lay). They are imperfections in the sense of ISO 8785; no roughness comes out of a photo.
// Blade frame as in the side view: x to the tip, z from the edge up to the spine; x = 0 at the
// handle end of the blade, for raking light makes plunge lines of shades. Directions are axes: from
// x (along the blade) toward z, 0 to pi. Above pi/2 a line leans to the handle going up, below it
// to the tip.

/// A part of the face that is not looked at: a mark, an etched logo.
struct FacePart {
  double from_x_mm = 0.0, to_x_mm = 0.0, from_z_mm = 0.0, to_z_mm = 0.0;
};

struct FinishSettings {
  std::optional<double> thickness_mm = {};      ///< Stock thickness; empty: not known.
  double thickness_u_mm = 0.005;                ///< Standard uncertainty of that reading.
  std::optional<double> tip_thickness_mm = {};  ///< Distal taper: thickness at the tip.
  PrintScale print = {};
  std::vector<FacePart> left_out = {};
  double step_mm = 10.0;  ///< Length of a station along the blade.
  /// What the face was sanded with last and before; the report says so, nothing is measured by it.
  std::optional<int> grit = {}, grit_before = {};
};

/// One face under one lamp. Both must outlive the call.
struct FinishPhoto {
  Face face = Face::left;
  const Photo* photo = nullptr;
  const CameraModel* camera = nullptr;
};

/// A value that lies between two, 95 times in 100; not in the middle of them.
struct Between {
  double value = 0.0, low = 0.0, high = 0.0;
};

/// Exact limits of a Poisson process's mean from one count.
/// Source: F. Garwood, Biometrika 28 (1936), 437-442.
Between poisson_interval(int count, double probability = 0.95);

/// How many scratches there are where `found` were found: some are missed, some found are none.
/// @param missed, false_ones  Upper limits: the share missed, and the expected number of those
///                            that are none.
Between count_interval(int found, double missed, double false_ones);

/// Directions from `from_rad` up to `to_rad`; beyond pi it goes on at 0.
struct DirectionRange {
  double from_rad = 0.0, to_rad = 0.0;
};

/// How one lamp place lit the face.
struct LampLook {
  std::string photo = {};
  std::optional<double> azimuth_rad = {};  ///< Toward the lamp, from x toward z, -pi to pi. Empty:
                                           ///< the paper is lit too evenly to tell.
  std::optional<double> elevation_rad = {};
  std::optional<int> tick = {};  ///< Of the side card (lamp_ticks.hpp); empty: it stood at none.
  std::optional<DirectionRange> shows = {};    ///< Scratches that shine from there.
  int saw = 0;                                 ///< Of the scratches found, those that shone in it.
  double blown_share = 0.0, dark_share = 0.0;  ///< Of the face.
  double blur_px = 0.0;
  CardPose pose = {};
  int corners_found = 0;
};

struct FoundScratch {
  Eigen::Vector2d from_mm = {0.0, 0.0}, to_mm = {0.0, 0.0};  ///< (x, z), the lower end first.
  Eigen::Vector2d from_px = {0.0, 0.0}, to_px = {0.0, 0.0};  ///< In the photo that showed it best.
  double length_mm = 0.0;
  double direction_rad = 0.0;
  double over_noise = 0.0;  ///< Response over the face's own, mean along it.
  int lamp = 0;             ///< Photo that showed it best.
  std::string zone = {};
};

/// The directions that the present grit's scratches share on one surface.
struct Lay {
  std::string surface = {};                  ///< "bevel", "flat".
  std::optional<double> direction_rad = {};  ///< Empty: none that most of it shares.
  double coherence = 0.0;  ///< 0: any direction; 1: one alone. Of the structure tensor.
  std::optional<double> direction_ratio = {};
  ///< Shortest over longest length at which the picture's autocorrelation has fallen to 0.2, as
  ///< ISO 25178-2 defines Str, of the light rather than of heights. Empty: not to be told.
};

/// Scratches that run alike.
struct ScratchFamily {
  Measured direction_rad;
  int count = 0;
};

/// Counts over an area. `length` is that of scratches, mm a square centimetre.
struct ScratchDensity {
  double area_cm2 = 0.0;  ///< That could be judged.
  int count = 0;
  Between per_cm2 = {};
  double length_per_cm2 = 0.0, length_u = 0.0;
};

struct FinishZone {
  std::string name = {};
  double from_x_mm = 0.0, to_x_mm = 0.0;
  double judged_share = 0.0;
  ScratchDensity density = {};
};

struct FinishStation {
  double x_mm = 0.0;  ///< Its middle.
  ScratchDensity density = {};
};

struct FinishFaceResult {
  Face face = Face::left;
  std::vector<LampLook> lamps = {};
  double length_mm = 0.0;
  double scale_px_per_mm = 0.0;
  double place_u_mm = 0.0;  ///< Standard uncertainty of a scratch's end, blade frame.
  std::vector<Lay> lays = {};
  std::vector<FoundScratch> scratches = {};
  std::vector<ScratchFamily> families = {};  ///< Most scratches first.
  ScratchDensity density = {};
  std::vector<FinishZone> zones = {};
  std::vector<FinishStation> stations = {};
  double face_area_cm2 = 0.0;
  double judged_share = 0.0;  ///< Of the face, left-out parts aside.
  std::optional<double> smallest_mm = {};
  ///< Width of the narrowest scratch that would have been found on half of the face, if it sends
  ///< the camera twice the light of the face around it.
  std::vector<DirectionRange> blind = {};        ///< No lamp shows scratches that run so.
  std::vector<Eigen::Vector2d> outline_mm = {};  ///< Edge from the handle on, then the spine back.
  std::vector<Eigen::Vector2d> bevel_line_mm = {}, plunge_line_mm = {};
  int best_lamp = 0;  ///< The photo in which most scratches shone.
  /// Corners of a rectangle around the face, and where that photo shows them.
  std::array<Eigen::Vector2d, 4> corner_mm = {}, corner_px = {};
};

struct FinishResult {
  std::vector<FinishFaceResult> faces = {};  ///< One or two, left first.
  std::vector<Remark> warnings = {};
  std::vector<Remark> advice = {};  ///< How to take better photos.
};

/// Counts the scratches left on one face, or on both.
/// @param photos  Those of one face lie together on one clamped or unmoved card and blade.
/// @throws Error  A photo cannot be measured, as side_view; the blade was moved between two photos
///                of a face; the same photo twice.
FinishResult finish_view(std::span<const FinishPhoto> photos, const FinishSettings& settings);

/// "along the blade", "up and down", "leaning to the tip", "leaning to the handle".
std::string_view direction_words(double direction_rad);

/// 0 .. pi, of an axis.
double axis_of(double direction_rad);
/// How far two axes lie apart, 0 .. pi/2.
double between_axes(double a_rad, double b_rad);

}  // namespace evenbevel
