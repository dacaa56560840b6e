#include "set_scene.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "evenbevel/error.hpp"
#include "evenbevel/units.hpp"
#include "imaging.hpp"
#include "random_scene.hpp"
#include "render.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

SetTrial::Reading reading(const Measured& measured, double truth) {
  return {measured.value - truth, U95(measured)};
}

bool on_blade(const EdgeScene& scene, const StationTruth& truth) {
  return truth.x_mm >= scene.blade.x_min_mm && truth.x_mm <= scene.blade.x_max_mm &&
         clear_of_plunges(scene, truth.x_mm);
}

void compare_stations(const EdgeResult& result, const EdgeScene& scene,
                      std::vector<SetTrial::Reading>& out) {
  for (const EdgeStation& station : result.stations) {
    const StationTruth truth = truth_nearest(scene, station.px);
    if (!station.centreline_offset_mm || !on_blade(scene, truth)) continue;
    out.push_back(reading(*station.centreline_offset_mm, truth.offset_mm));
  }
}

template <class Pick>
double mean_truth(const EdgeResult& result, const EdgeScene& scene, Pick pick) {
  double sum = 0.0, count = 0.0;
  for (const EdgeStation& station : result.stations) {
    if (!station.centreline_offset_mm) continue;
    const StationTruth truth = truth_nearest(scene, station.px);
    if (!on_blade(scene, truth)) continue;
    sum += pick(truth);
    count += 1.0;
  }
  return sum / count;
}

void compare_facets(const EdgeResult& result, const EdgeScene& scene, SetTrial& trial) {
  const BladeShape& blade = scene.blade;
  const auto height = [&](std::optional<double> StationTruth::*width, const Facet& facet) {
    return mean_truth(result, scene, [&](const StationTruth& t) { return *(t.*width); }) /
           std::tan(facet.angle_rad);
  };
  if (result.land_height_left_mm) {
    trial.land_height_mm.push_back(
        reading(*result.land_height_left_mm, height(&StationTruth::facet_left_mm, blade.left)));
  }
  if (result.land_height_right_mm) {
    trial.land_height_mm.push_back(
        reading(*result.land_height_right_mm, height(&StationTruth::facet_right_mm, blade.right)));
  }
  if (result.facet_angle_left_rad) {
    trial.facet_angle_rad.push_back(reading(*result.facet_angle_left_rad, blade.left.angle_rad));
  }
  if (result.facet_angle_right_rad) {
    trial.facet_angle_rad.push_back(reading(*result.facet_angle_right_rad, blade.right.angle_rad));
  }
}

void compare(const EdgeResult& result, const EdgeScene& scene, SetTrial& trial) {
  compare_stations(result, scene, trial.offset_mm);
  trial.mean_offset_mm.push_back(
      reading(*result.centreline_offset_mm,
              mean_truth(result, scene, [](const StationTruth& t) { return t.offset_mm; })));
  if (result.setup_offset_mm) trial.setup_offset_mm = result.setup_offset_mm->value;
  if (scene.blade.stage == SceneStage::ground) compare_facets(result, scene, trial);
}

void measure(const std::vector<Photo>& photos, const std::vector<Photo>& turned_photos,
             const EdgeScene& scene, const EdgeSettings& settings, SetTrial& trial) {
  try {
    compare_stations(edge_view(photos.front(), scene.camera, settings), scene,
                     trial.single_offset_mm);
    const EdgeResult result = edge_set({photos, turned_photos}, scene.camera, settings);
    trial.photos = static_cast<int>(result.photos.size());
    for (const Remark& warning : result.warnings) {
      if (warning.code != RemarkCode::photo_left_out) continue;
      trial.left_out += sentence(warning, LengthUnit::mm);
    }
    compare(result, scene, trial);
  } catch (const Error& error) {
    trial.refused = error.what();
  }
}

std::string suite_of(const char* kind, SceneStage stage) {
  return kind + std::to_string(static_cast<int>(stage));
}

}  // namespace

EdgeScene turned(const EdgeScene& scene, std::mt19937_64& rng) {
  EdgeScene out = scene;
  SetUp& set_up = out.set_up;
  const double middle = 0.5 * (scene.blade.x_min_mm + scene.blade.x_max_mm);
  const double to_tip = set_up.tip_left ? -1.0 : 1.0;
  set_up.tip_left = !set_up.tip_left;
  set_up.card_x_mm += 2.0 * to_tip * middle + uniform(rng, -3.0, 3.0);
  set_up.jaw_tilt_rad = -set_up.jaw_tilt_rad + 0.0005 * normal(rng);
  set_up.in_plane_rad += radians(uniform(rng, -0.3, 0.3));
  set_up.edge_height_mm.at_zero += uniform(rng, -0.5, 0.5);
  std::swap(set_up.jaw_left, set_up.jaw_right);  // the lamps stay where they are, and the jaws
  return out;
}

EdgeScene seen_from(const EdgeScene& scene, double along_mm, double beside_mm) {
  EdgeScene out = scene;
  const Eigen::Isometry3d T_card_camera = scene.set_up.T_camera_card.inverse().matrix;
  const Eigen::Vector3d from = T_card_camera.translation();
  const Eigen::Vector3d forward = T_card_camera.linear().col(2);
  const Eigen::Vector3d right = T_card_camera.linear().col(0);
  const Eigen::Vector3d aim = from - forward * (from.z() / forward.z());
  out.set_up.T_camera_card =
      looking_at(aim, {along_mm, beside_mm, from.z()}, std::atan2(right.y(), right.x()));
  return out;
}

Photo photo_of(const EdgeScene& scene, const std::string& name, const std::mt19937_64& imaging,
               std::mt19937_64& noise) {
  std::mt19937_64 same = imaging;
  Photo photo;
  photo.name = name;
  photo.pixels = take_picture(render_light(scene, {.cheap = true}), random_imaging(same), noise);
  return photo;
}

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

SetTrial run_reversal(SceneStage stage, int number) {
  std::mt19937_64 rng = seeded(suite_of("Reversal", stage), number);
  const std::mt19937_64 imaging = seeded(suite_of("ReversalImaging", stage), number);
  const EdgeScene scene = random_edge_scene(stage, rng);
  const EdgeScene other = turned(scene, rng);
  const EdgeSettings settings = settings_for(scene, rng);
  const std::vector<Photo> first{photo_of(scene, "first.jpg", imaging, rng)};
  const std::vector<Photo> second{photo_of(other, "second.jpg", imaging, rng)};
  SetTrial trial;
  measure(first, second, scene, settings, trial);
  return trial;
}

SetTrial run_three_places(SceneStage stage, int number) {
  std::mt19937_64 rng = seeded(suite_of("ThreePlaces", stage), number);
  const std::mt19937_64 imaging = seeded(suite_of("ThreePlacesImaging", stage), number);
  const EdgeScene scene = random_edge_scene(stage, rng);
  const EdgeSettings settings = settings_for(scene, rng);
  std::vector<Photo> photos{photo_of(scene, "middle.jpg", imaging, rng)};
  for (const double side : {-1.0, 1.0}) {
    const double along = uniform(rng, -15.0, 15.0);
    const EdgeScene there = seen_from(scene, along, side * uniform(rng, 40.0, 60.0));
    photos.push_back(photo_of(there, side < 0.0 ? "below.jpg" : "above.jpg", imaging, rng));
  }
  SetTrial trial;
  measure(photos, {}, scene, settings, trial);
  return trial;
}

SetTally tally(const std::vector<SetTrial>& trials,
               std::vector<SetTrial::Reading> SetTrial::*quantity) {
  SetTally out;
  std::vector<double> u95;
  for (const SetTrial& trial : trials) {
    for (const SetTrial::Reading& r : trial.*quantity) {
      out.rms += r.error * r.error;
      out.mean += r.error;
      out.worst = std::max(out.worst, std::abs(r.error));
      out.held += r.held() ? 1.0 : 0.0;
      u95.push_back(r.u95);
    }
  }
  out.readings = static_cast<int>(u95.size());
  if (u95.empty()) return out;
  out.rms = std::sqrt(out.rms / out.readings);
  out.mean /= out.readings;
  out.held /= out.readings;
  std::nth_element(u95.begin(), u95.begin() + static_cast<std::ptrdiff_t>(u95.size() / 2),
                   u95.end());
  out.median_u95 = u95[u95.size() / 2];
  return out;
}

}  // namespace evenbevel::test
