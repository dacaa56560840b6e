#include "trial.hpp"

#include <algorithm>
#include <cmath>
#include <ctime>
#include <random>

#include "evenbevel/error.hpp"
#include "evenbevel/units.hpp"
#include "imaging.hpp"
#include "random_scene.hpp"
#include "render.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

double processor_seconds(std::clock_t since) {
  return static_cast<double>(std::clock() - since) / CLOCKS_PER_SEC;
}

const char* suite_of(SceneStage stage) {
  switch (stage) {
    case SceneStage::scribed_dye:
      return "EdgeScribedDye";
    case SceneStage::scribed_bare:
      return "EdgeScribedBare";
    case SceneStage::ground:
      return "EdgeGround";
    case SceneStage::bevelled:
      return "EdgeBevelled";
  }
  return "";
}

Stage expected_stage(SceneStage stage) {
  if (stage == SceneStage::ground) return Stage::ground;
  return stage == SceneStage::bevelled ? Stage::bevelled : Stage::scribed;
}

/// What the maker types in: readings of a micrometer and of calipers on the printed bar.
EdgeSettings settings_for(const EdgeScene& scene, std::mt19937_64& rng) {
  EdgeSettings settings;
  settings.thickness_mm = scene.blade.thickness_mm + 0.003 * normal(rng);
  settings.thickness_u_mm = 0.003;
  settings.print.along = scene.set_up.print_along + 0.0005 * normal(rng);
  settings.print.across = scene.set_up.print_across + 0.0005 * normal(rng);
  settings.print.u = 0.0005;
  settings.tip = scene.set_up.tip_left ? Tip::left : Tip::right;
  return settings;
}

Reading reading(const Measured& measured, double truth) {
  return {measured.value - truth, U95(measured), measured.u};
}

double weaker_contrast(const StationTruth& truth) {
  return std::min(std::abs(truth.contrast_left), std::abs(truth.contrast_right));
}

/// Not told where the tip is and not sure of it, the program may take either side for the left one.
bool mirrored(const EdgeResult& result, const EdgeScene& scene) {
  return (result.tip == Tip::left) != scene.set_up.tip_left && !result.tip_seen;
}

void compare_stations(const EdgeResult& result, const EdgeScene& scene, Trial& trial) {
  const double sign = mirrored(result, scene) ? -1.0 : 1.0;
  for (const EdgeStation& station : result.stations) {
    const StationTruth truth = truth_nearest(scene, station.px);
    if (truth.x_mm < scene.blade.x_min_mm || truth.x_mm > scene.blade.x_max_mm) continue;
    if (!clear_of_plunges(scene, truth.x_mm)) continue;  // no land there yet
    if (station.centreline_offset_mm) {
      trial.offset_mm.push_back(reading(*station.centreline_offset_mm, sign * truth.offset_mm));
      trial.offset_mm.back().contrast = weaker_contrast(truth);
    }
    const std::optional<Measured>& width =
        scene.blade.has_facets() ? station.land_width_mm : station.line_gap_mm;
    if (width) trial.width_mm.push_back(reading(*width, truth.width_mm));
  }
}

/// Mean of a truth over the stations that were measured.
template <class Pick>
double mean_truth(const EdgeResult& result, const EdgeScene& scene, Pick pick) {
  double sum = 0.0;
  int count = 0;
  for (const EdgeStation& station : result.stations) {
    if (!station.centreline_offset_mm) continue;
    const std::optional<double> value = pick(truth_nearest(scene, station.px));
    if (!value) continue;
    sum += *value;
    ++count;
  }
  return count > 0 ? sum / count : 0.0;
}

/// Slope of the true land widths at the stations measured, over 100 mm.
double true_taper_mm(const EdgeResult& result, const EdgeScene& scene) {
  double x = 0.0, w = 0.0, xx = 0.0, xw = 0.0, n = 0.0;
  for (const EdgeStation& station : result.stations) {
    if (!station.land_width_mm) continue;
    const double width = truth_nearest(scene, station.px).width_mm;
    x += station.x_mm, w += width, n += 1.0;
    xx += station.x_mm * station.x_mm, xw += station.x_mm * width;
  }
  return 100.0 * (n * xw - x * w) / (n * xx - x * x);
}

void compare_summary(const EdgeResult& result, const EdgeScene& scene, Trial& trial) {
  const double sign = mirrored(result, scene) ? -1.0 : 1.0;
  if (result.centreline_offset_mm) {
    const auto offset = [](const StationTruth& t) { return std::optional<double>(t.offset_mm); };
    trial.mean_offset_mm =
        reading(*result.centreline_offset_mm, sign * mean_truth(result, scene, offset));
  }
  if (result.plunge_mismatch_mm && scene.blade.has_facets()) {
    // Turning x and the faces over changes the mismatch's sign twice.
    const double truth = scene.blade.left.plunge.x_mm - scene.blade.right.plunge.x_mm;
    trial.plunge_mismatch_mm = reading(*result.plunge_mismatch_mm, truth);
  }
  if (result.facet_width_difference_mm && scene.blade.has_facets()) {
    const auto difference = [](const StationTruth& t) -> std::optional<double> {
      if (!t.facet_left_mm || !t.facet_right_mm) return std::nullopt;
      return *t.facet_left_mm - *t.facet_right_mm;
    };
    trial.facet_difference_mm =
        reading(*result.facet_width_difference_mm, sign * mean_truth(result, scene, difference));
  }
  if (result.land_taper_mm && scene.blade.has_facets())
    trial.land_taper_mm = reading(*result.land_taper_mm, true_taper_mm(result, scene));
  if (result.bow_mm) trial.bow_mm = reading(*result.bow_mm, 0.0);  // The scenes' stock is straight.
}

Photo photo_of(const EdgeScene& scene, const Imaging& imaging, const std::string& name,
               std::mt19937_64& rng) {
  Photo photo;
  photo.name = name;
  photo.pixels = take_picture(render_light(scene, {.cheap = true}), imaging, rng);
  return photo;
}

Trial measure(const Photo& photo, const CameraModel& camera, const EdgeScene& scene,
              const EdgeSettings& settings) {
  Trial trial;
  trial.stage = scene.blade.stage;
  const std::clock_t start = std::clock();
  try {
    const EdgeResult result = edge_view(photo, camera, settings);
    trial.seconds_measured = processor_seconds(start);
    trial.right_stage = result.stage == expected_stage(trial.stage);
    trial.wrong_tip = result.tip_seen && (result.tip == Tip::left) != scene.set_up.tip_left;
    compare_stations(result, scene, trial);
    compare_summary(result, scene, trial);
  } catch (const Error& error) {
    trial.refused = error.what();
  }
  return trial;
}

/// What the program makes of the equivalent focal length in EXIF: makers take it by the diagonal or
/// by the long side, which differ by a few per cent, and round it to whole mm.
CameraModel camera_from_exif(Photo& photo, const EdgeScene& scene, std::mt19937_64& rng) {
  const double width = photo.pixels.cols, height = photo.pixels.rows;
  const double by_diagonal = scene.camera.focal_px.x() * 43.2666 / std::hypot(width, height);
  const double by_long_side = scene.camera.focal_px.x() * 36.0 / width;
  const double share = uniform(rng, 0.0, 1.0);
  photo.camera.focal_length_35mm = std::round(share * by_diagonal + (1.0 - share) * by_long_side);
  return guess_camera(photo);
}

/// Focusing changes a phone's focal length by a per cent or so, stabilisation shifts the principal
/// point by some 15 px of a picture 4,000 px wide.
CameraModel file_of_moved_lens(const CameraModel& lens, std::mt19937_64& rng) {
  CameraModel file = lens;
  const double shift_px = 15.0 * lens.width_px / 4000.0;
  file.focal_px.setConstant(lens.focal_px.x() * (1.0 + 0.01 * normal(rng)));
  file.centre_px.x() += shift_px * normal(rng);
  file.centre_px.y() += shift_px * normal(rng);
  return file;
}

CameraModel camera_file(Photo& photo, const EdgeScene& scene, const Unknowns& unknown,
                        std::mt19937_64& rng) {
  if (unknown.lens) return camera_from_exif(photo, scene, rng);
  return unknown.moved_lens ? file_of_moved_lens(scene.camera, rng) : scene.camera;
}

/// What there is to be read: a station each mm, where the picture shows it, by its weaker border.
std::vector<double> contrast_in_view(const EdgeScene& scene) {
  std::vector<double> seen;
  for (double x = scene.blade.x_min_mm + 0.5; x < scene.blade.x_max_mm; x += 1.0) {
    if (!clear_of_plunges(scene, x)) continue;
    const StationTruth truth = truth_at(scene, x);
    const Eigen::Vector2d& q = truth.middle_px;
    if (q.x() < 0.0 || q.x() > scene.camera.width_px - 1) continue;
    seen.push_back(weaker_contrast(truth));
  }
  return seen;
}

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

Conditions conditions_of(const EdgeScene& scene, const Imaging& imaging, const Unknowns& unknown) {
  const SetUp& set_up = scene.set_up;
  const Eigen::Vector3d from = set_up.T_camera_card.inverse().matrix.translation();
  const double distance = from.z() - set_up.edge_height_mm(0.0);
  return {.unknown = unknown,
          .light = scene.lighting ? scene.lighting->kind : LightKind::soft,
          .phone_chain = imaging.phone.has_value(),
          .px_per_mm = scene.camera.focal_px.x() / distance,
          .distance_mm = distance,
          .beside_mm = from.y() - set_up.card_y_mm,
          .jaw_tilt_rad = set_up.jaw_tilt_rad,
          .blur_px = imaging.blur_px,
          .noise = imaging.shot_noise,
          .print_error =
              std::max(std::abs(set_up.print_along - 1.0), std::abs(set_up.print_across - 1.0))};
}

/// Moves the camera, still looking at the same place, to this angle beside the blade.
void stand_beside(EdgeScene& scene, double angle_rad, std::mt19937_64& rng) {
  const Eigen::Isometry3d T_card_camera = scene.set_up.T_camera_card.inverse().matrix;
  const Eigen::Vector3d from = T_card_camera.translation();
  const Eigen::Vector3d forward = T_card_camera.linear().col(2);
  const Eigen::Vector3d aim = from - forward * (from.z() / forward.z());
  const Eigen::Vector3d right = T_card_camera.linear().col(0);
  const double along = from.z() * std::tan(radians(uniform(rng, -8.0, 8.0)));
  const Eigen::Vector3d to(along, from.z() * std::tan(angle_rad), from.z());
  scene.set_up.T_camera_card = looking_at(aim, to, std::atan2(right.y(), right.x()));
}

/// No card: its sheet looks like the jaws that it would lie on.
void paint_card_over(Paints& paints) {
  for (Paint* paint : {&paints.white, &paints.black, &paints.lane, &paints.card_cut}) {
    *paint = paints.jaw;
  }
}

Tip tip_in_picture(const EdgeScene& scene) {
  const Eigen::Vector2d heel = truth_at(scene, scene.blade.x_min_mm).middle_px;
  const Eigen::Vector2d tip = truth_at(scene, scene.blade.x_max_mm).middle_px;
  return tip.x() > heel.x() ? Tip::right : Tip::left;
}

/// Draws what `shown` holds of scene, imaging and unknowns, and adds what the maker says.
void photograph(TrialPhoto& shown, const std::string& name, std::mt19937_64& rng) {
  shown.photo = photo_of(shown.scene, shown.imaging, name, rng);
  shown.settings = settings_for(shown.scene, rng);
  if (shown.unknown.bar) shown.settings.print = {};
  if (shown.unknown.tip) shown.settings.tip.reset();
  shown.camera_file = camera_file(shown.photo, shown.scene, shown.unknown, rng);
}

Trial run(const TrialPhoto& shown) {
  Trial trial = measure(shown.photo, shown.camera_file, shown.scene, shown.settings);
  trial.conditions = conditions_of(shown.scene, shown.imaging, shown.unknown);
  trial.true_contrast = contrast_in_view(shown.scene);
  if (!trial.true_contrast.empty()) trial.conditions.contrast = median(trial.true_contrast);
  return trial;
}

}  // namespace

Trial run_trial(SceneStage stage, int number, const Unknowns& unknown) {
  std::mt19937_64 rng = seeded(suite_of(stage), number);
  const std::clock_t start = std::clock();
  TrialPhoto shown;
  shown.scene = random_edge_scene(stage, rng);
  shown.imaging = random_imaging(rng);
  shown.unknown = unknown;
  photograph(shown, suite_of(stage) + std::to_string(number), rng);
  const double seconds_drawn = processor_seconds(start);
  Trial trial = run(shown);
  trial.seconds_drawn = seconds_drawn;
  return trial;
}

TrialPhoto adverse_photo(SceneStage stage, LightKind light, int number) {
  const std::string suite = std::string("Adverse") + suite_of(stage) + name(light);
  std::mt19937_64 rng = seeded(suite, number);
  TrialPhoto shown;
  shown.scene = random_edge_scene(stage, light, rng);
  shown.imaging = random_imaging(rng);
  const double lens = uniform(rng, 0.0, 1.0);
  shown.unknown = {.lens = lens > 0.9,
                   .bar = uniform(rng, 0.0, 1.0) < 0.15,
                   .moved_lens = lens < 0.4,
                   .tip = number / 16 % 2 == 1};  // In every stage and light alike.
  photograph(shown, suite + std::to_string(number), rng);
  return shown;
}

Trial run_adverse_trial(SceneStage stage, LightKind light, int number) {
  const std::clock_t start = std::clock();
  const TrialPhoto shown = adverse_photo(stage, light, number);
  const double seconds_drawn = processor_seconds(start);
  Trial trial = run(shown);
  trial.seconds_drawn = seconds_drawn;
  return trial;
}

QuickLookTrial run_quick_look_trial(SceneStage stage, int number) {
  const std::string name = std::string("QuickLook") + suite_of(stage);
  std::mt19937_64 rng = seeded(name, number);
  EdgeScene scene = random_edge_scene(stage, rng);
  stand_beside(scene, radians(uniform(rng, -10.0, 10.0)), rng);
  const bool card = number % 2 == 1;
  if (!card) paint_card_over(scene.paints);
  const Imaging imaging = random_imaging(rng);
  const Photo photo = photo_of(scene, imaging, name + std::to_string(number), rng);
  EdgeSettings settings = settings_for(scene, rng);
  QuickLookTrial trial;
  if (card) trial.with_card = measure(photo, scene.camera, scene, settings);
  settings.card = false;
  settings.tip = tip_in_picture(scene);
  CameraModel camera = scene.camera;
  if (card && number % 3 != 0) {
    camera = guess_camera(photo);
    camera.focal_px.setConstant(scene.camera.focal_px.x() * (1.0 + 0.03 * normal(rng)));
  }
  trial.without_card = measure(photo, camera, scene, settings);
  return trial;
}

std::vector<Reading> readings_of(const Trial& trial, Quantity quantity) {
  const auto one = [](const std::optional<Reading>& reading) {
    return reading ? std::vector<Reading>{*reading} : std::vector<Reading>{};
  };
  switch (quantity) {
    case Quantity::offset:
      return trial.offset_mm;
    case Quantity::width:
      return trial.width_mm;
    case Quantity::mean_offset:
      return one(trial.mean_offset_mm);
    case Quantity::plunge_mismatch:
      return one(trial.plunge_mismatch_mm);
    case Quantity::facet_difference:
      return one(trial.facet_difference_mm);
    case Quantity::land_taper:
      return one(trial.land_taper_mm);
    case Quantity::bow:
      return one(trial.bow_mm);
  }
  return {};
}

Tally tally(const std::vector<Trial>& trials, Quantity quantity) {
  Tally tally;
  std::vector<double> u95;
  for (const Trial& trial : trials) {
    ++tally.trials;
    if (!trial.refused.empty()) {
      ++tally.refused;
      continue;
    }
    if (!trial.right_stage) ++tally.wrong_stage;
    for (const Reading& reading : readings_of(trial, quantity)) {
      tally.rms += reading.error * reading.error;
      tally.mean += reading.error;
      tally.worst = std::max(tally.worst, std::abs(reading.error));
      if (reading.held()) tally.held += 1.0;
      u95.push_back(reading.u95);
    }
  }
  tally.stations = static_cast<int>(u95.size());
  if (tally.stations == 0) return tally;
  tally.rms = std::sqrt(tally.rms / tally.stations);
  tally.mean /= tally.stations;
  tally.held /= tally.stations;
  std::nth_element(u95.begin(), u95.begin() + static_cast<std::ptrdiff_t>(u95.size() / 2),
                   u95.end());
  tally.median_u95 = u95[u95.size() / 2];
  return tally;
}

}  // namespace evenbevel::test
