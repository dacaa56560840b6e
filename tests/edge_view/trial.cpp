#include "trial.hpp"

#include <algorithm>
#include <cmath>
#include <ctime>

#include "evenbevel/error.hpp"
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
  return {measured.value - truth, U95(measured)};
}

void compare_stations(const EdgeResult& result, const EdgeScene& scene, Trial& trial) {
  for (const EdgeStation& station : result.stations) {
    const StationTruth truth = truth_nearest(scene, station.px);
    if (truth.x_mm < scene.blade.x_min_mm || truth.x_mm > scene.blade.x_max_mm) continue;
    if (!clear_of_plunges(scene, truth.x_mm)) continue;  // no land there yet
    if (station.centreline_offset_mm) {
      trial.offset_mm.push_back(reading(*station.centreline_offset_mm, truth.offset_mm));
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

void compare_summary(const EdgeResult& result, const EdgeScene& scene, Trial& trial) {
  if (result.centreline_offset_mm) {
    const auto offset = [](const StationTruth& t) { return std::optional<double>(t.offset_mm); };
    trial.mean_offset_mm = reading(*result.centreline_offset_mm, mean_truth(result, scene, offset));
  }
  if (result.plunge_mismatch_mm && scene.blade.has_facets()) {
    const double truth = scene.blade.left.plunge.x_mm - scene.blade.right.plunge.x_mm;
    trial.plunge_mismatch_mm = reading(*result.plunge_mismatch_mm, truth);
  }
  if (result.facet_width_difference_mm && scene.blade.has_facets()) {
    const auto difference = [](const StationTruth& t) -> std::optional<double> {
      if (!t.facet_left_mm || !t.facet_right_mm) return std::nullopt;
      return *t.facet_left_mm - *t.facet_right_mm;
    };
    trial.facet_difference_mm =
        reading(*result.facet_width_difference_mm, mean_truth(result, scene, difference));
  }
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
  }
  return {};
}

}  // namespace

Trial run_trial(SceneStage stage, int number) {
  std::mt19937_64 rng = seeded(suite_of(stage), number);
  Trial trial;
  trial.stage = stage;
  const std::clock_t start = std::clock();
  const EdgeScene scene = random_edge_scene(stage, rng);
  const Imaging imaging = random_imaging(rng);
  Photo photo;
  photo.name = suite_of(stage) + std::to_string(number);
  photo.pixels = take_picture(render_light(scene, {.cheap = true}), imaging, rng);
  const EdgeSettings settings = settings_for(scene, rng);
  trial.seconds_drawn = processor_seconds(start);
  const std::clock_t drawn = std::clock();
  try {
    const EdgeResult result = edge_view(photo, scene.camera, settings);
    trial.seconds_measured = processor_seconds(drawn);
    trial.right_stage = result.stage == expected_stage(stage);
    compare_stations(result, scene, trial);
    compare_summary(result, scene, trial);
  } catch (const Error& error) {
    trial.refused = error.what();
  }
  return trial;
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
