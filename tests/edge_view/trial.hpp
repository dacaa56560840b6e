#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenbevel/camera.hpp"
#include "evenbevel/edge_view.hpp"
#include "evenbevel/photo.hpp"
#include "imaging.hpp"
#include "scene.hpp"

namespace evenbevel::test {

/// A reading against its truth.
struct Reading {
  double error = 0.0;
  double u95 = 0.0;
  double u = 0.0;
  double contrast = 1.0;  ///< Of the weaker border of the land, or line, in linear light.

  bool held() const { return error <= u95 && error >= -u95; }
};

/// What the maker does not know, or did not look at.
struct Unknowns {
  bool lens = false;        ///< No camera file: the focal length from EXIF, in whole mm equivalent.
  bool bar = false;         ///< The printed bar was not measured.
  bool moved_lens = false;  ///< A phone's lens has moved since its camera file was made.
  bool tip = false;         ///< Which way the tip points is not said.
};

/// What makes a scene hard.
struct Conditions {
  Unknowns unknown;
  LightKind light = LightKind::soft;
  bool phone_chain = false;
  double px_per_mm = 0.0, distance_mm = 0.0;
  double contrast = 1.0;      ///< Median over the stations in view, of the weaker border.
  double beside_mm = 0.0;     ///< The camera's foot point off the card's middle.
  double jaw_tilt_rad = 0.0;  ///< Out of square.
  double blur_px = 0.0;
  double noise = 0.0;        ///< Shot noise at full scale.
  double print_error = 0.0;  ///< Printed over nominal, less one; the larger of both directions.
};

/// One random scene, drawn, photographed, measured and compared.
struct Trial {
  SceneStage stage = SceneStage::ground;
  std::string refused;  ///< Why there is no result; empty: there is one.
  bool right_stage = false;
  std::vector<Reading> offset_mm;  ///< A station each.
  std::vector<Reading> width_mm;   ///< Line gap or land width, a station each.
  std::optional<Reading> mean_offset_mm, plunge_mismatch_mm, facet_difference_mm;
  std::optional<Reading> land_taper_mm, bow_mm;
  bool wrong_tip = false;  ///< The program was sure of the tip, and wrong: the wrong face.
  std::vector<double> true_contrast;  ///< Weaker border, a station each mm in view.
  Conditions conditions;
  double seconds_drawn = 0.0, seconds_measured = 0.0;  ///< Processor time.
};

/// Deterministic in (stage, number). The maker knows where the tip is, reads the thickness to 3 um
/// and, unless said otherwise, the printed bar to 0.05 %, and has the true camera file.
Trial run_trial(SceneStage stage, int number, const Unknowns& unknown = {});

/// What a trial measures, and what the maker says of it.
struct TrialPhoto {
  EdgeScene scene;
  Imaging imaging;
  Unknowns unknown;
  Photo photo;
  EdgeSettings settings;
  CameraModel camera_file;
};

/// One of the hard scenes, in the given light; deterministic in its arguments. What the maker does
/// not know follows from the number: in half of the scenes he does not say where the tip is.
TrialPhoto adverse_photo(SceneStage stage, LightKind light, int number);
Trial run_adverse_trial(SceneStage stage, LightKind light, int number);

/// The quick look at a scene of its own, the camera up to 10 degrees from over the edge, any angle
/// as likely. Even numbers have no card in the picture; odd ones have it, to be ignored, and are
/// measured with it too. The maker knows the camera when `number` is even or divisible by 3.
struct QuickLookTrial {
  Trial without_card;
  std::optional<Trial> with_card;
};
QuickLookTrial run_quick_look_trial(SceneStage stage, int number);

/// Over all stations of many trials.
struct Tally {
  int trials = 0, refused = 0, wrong_stage = 0;
  int stations = 0;
  double rms = 0.0, mean = 0.0, worst = 0.0;
  double held = 0.0;  ///< Share of stations whose 95 % interval holds the truth.
  double median_u95 = 0.0;
};
enum class Quantity {
  offset,
  width,
  mean_offset,
  plunge_mismatch,
  facet_difference,
  land_taper,
  bow
};
Tally tally(const std::vector<Trial>& trials, Quantity quantity);
std::vector<Reading> readings_of(const Trial& trial, Quantity quantity);

}  // namespace evenbevel::test
