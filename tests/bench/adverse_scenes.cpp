// Measures the hard scenes with known truth, in every light and stage, and prints a line for each
// and a table:
//     adverse_scenes [SCENES] [FIRST] [--jobs N] [--stage S] [--light L]
// Or draws one, and says what is in it:
//     adverse_scenes --picture NUMBER FILE.png [--stage S] [--light L]
// Scene NUMBER is the same whatever else is measured. Without --stage and --light these follow from
// the number. A line says FALSE where the answer would mislead (`falsehood`).

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include <opencv2/core/utility.hpp>
#include <opencv2/imgcodecs.hpp>

#include "evenbevel/edge_view.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"
#include "hard_scenes.hpp"

namespace {

using evenbevel::test::Figures;
using evenbevel::test::hard_scene;
using evenbevel::test::HardScene;
using evenbevel::test::LightKind;
using evenbevel::test::Reading;
using evenbevel::test::SceneStage;
using evenbevel::test::Trial;

struct Options {
  int scenes = 160;
  int first = 0;
  int jobs = 1;
  std::optional<SceneStage> stage;
  std::optional<LightKind> light;
  std::optional<int> picture;
  std::string file;
};

/// As asked for, or by the number.
HardScene scene_of(int number, const Options& options) {
  HardScene scene = hard_scene(number);
  if (options.stage) scene.stage = *options.stage;
  if (options.light) scene.light = *options.light;
  return scene;
}

void print_scene(const HardScene& scene) {
  const Trial& trial = scene.trial;
  std::printf("%5d %-8s %-6s ", scene.number, name(scene.stage), name(scene.light));
  if (!trial.refused.empty()) {
    std::printf("refused: %.60s\n", trial.refused.c_str());
    return;
  }
  const Figures f = figures_of(trial.offset_mm);
  std::printf("mean %+.4f rms %.4f worst %.4f held %.2f U95 %.4f read %.2f", f.mean, f.rms, f.worst,
              f.held, f.median_u95, read_share(trial));
  if (const std::optional<Reading>& plunge = trial.plunge_mismatch_mm) {
    std::printf(" plunge %+.3f U95 %.3f", plunge->error, plunge->u95);
  }
  std::printf("%s", trial.right_stage ? "" : " other-stage");
  const std::string why = falsehood(trial);
  std::printf("%s%s\n", why.empty() ? "" : " FALSE:", why.c_str());
  std::fflush(stdout);
}

Trial measured(const HardScene& scene) {
  return evenbevel::test::run_adverse_trial(scene.stage, scene.light, scene.number);
}

std::vector<HardScene> measure(const Options& options) {
  std::vector<HardScene> scenes;
  for (int i = 0; i < options.scenes; ++i) scenes.push_back(scene_of(options.first + i, options));
  std::mutex turn;
  std::size_t next = 0, printed = 0;
  std::vector<bool> done(scenes.size(), false);
  const auto work = [&] {
    for (;;) {
      std::unique_lock<std::mutex> lock(turn);
      if (next == scenes.size()) return;
      const std::size_t mine = next++;
      lock.unlock();
      const Trial trial = measured(scenes[mine]);
      lock.lock();
      scenes[mine].trial = trial;
      done[mine] = true;
      while (printed < scenes.size() && done[printed]) print_scene(scenes[printed++]);
    }
  };
  std::vector<std::thread> workers;
  for (int i = 1; i < options.jobs; ++i) workers.emplace_back(work);
  work();
  for (std::thread& worker : workers) worker.join();
  return scenes;
}

void print_blade(const evenbevel::test::EdgeScene& scene) {
  const evenbevel::test::SetUp& set_up = scene.set_up;
  const evenbevel::test::BladeShape& blade = scene.blade;
  std::printf("thickness %.3f mm, x %.1f to %.1f, edge %.1f mm high, tip %s\n", blade.thickness_mm,
              blade.x_min_mm, blade.x_max_mm, set_up.edge_height_mm(0.0),
              set_up.tip_left ? "left" : "right");
  std::printf("offset %+.4f mm at x 30, plunge mismatch %+.3f mm, burr %.3f mm\n",
              blade.offset_mm(30.0), blade.left.plunge.x_mm - blade.right.plunge.x_mm,
              blade.burr.width_mm);
  for (const bool left : {true, false}) {
    const evenbevel::test::Corner& corner = left ? blade.corner_left : blade.corner_right;
    const evenbevel::test::Jaw& jaw = left ? set_up.jaw_left : set_up.jaw_right;
    std::printf("%s: corner %.3f across, %.3f mm down; jaw %s, gap %.2f mm\n",
                left ? "left" : "right", corner.across_mm, corner.down_mm,
                jaw.there ? "there" : "missing", jaw.gap_mm);
  }
  for (double x = 5.0; x < blade.x_max_mm; x += 15.0) {
    const evenbevel::test::StationTruth truth = truth_at(scene, x);
    std::printf("x %5.1f at (%.1f, %.1f): contrast left %+.3f right %+.3f\n", x,
                truth.middle_px.x(), truth.middle_px.y(), truth.contrast_left,
                truth.contrast_right);
  }
}

/// Where the scene has the border that a trace follows.
Eigen::Vector2d true_place(const evenbevel::test::StationTruth& truth,
                           evenbevel::EdgeTrace::Kind kind) {
  using enum evenbevel::EdgeTrace::Kind;
  switch (kind) {
    case flat_left:
      return truth.flat_left_px;
    case flat_right:
      return truth.flat_right_px;
    case scribe_left:
    case land_left:
      return truth.left_px;
    default:
      return truth.right_px;
  }
}

/// How far a trace's points lie outside of their border: px, median.
double outside_px(const evenbevel::EdgeTrace& trace, const evenbevel::test::EdgeScene& scene) {
  constexpr double kStepMm = 0.5;
  std::vector<double> outside;
  for (const Eigen::Vector2d& point : trace.points_px) {
    double least = 1e9, out = 0.0;
    for (double x = scene.blade.x_min_mm; x < scene.blade.x_max_mm; x += kStepMm) {
      const evenbevel::test::StationTruth truth = truth_at(scene, x);
      const Eigen::Vector2d off = point - true_place(truth, trace.kind);
      if (off.norm() > least) continue;
      least = off.norm();
      const Eigen::Vector2d outward = true_place(truth, trace.kind) - truth.middle_px;
      const Eigen::Vector2d along =
          truth_at(scene, x + kStepMm).middle_px - truth_at(scene, x - kStepMm).middle_px;
      const Eigen::Vector2d across = Eigen::Vector2d(-along.y(), along.x()).normalized();
      out = off.dot(across) * (outward.dot(across) > 0.0 ? 1.0 : -1.0);
    }
    outside.push_back(out);
  }
  return outside.empty() ? 0.0 : evenbevel::median(outside);
}

/// How far each border was read from its place, if the photo is measured at all.
void print_borders(const evenbevel::test::TrialPhoto& shown) {
  try {
    const evenbevel::EdgeResult result =
        evenbevel::edge_view(shown.photo, shown.camera_file, shown.settings);
    for (const evenbevel::EdgeTrace& trace : result.traces)
      std::printf("%s: read %+.2f px outside of its place\n", name(trace.kind).data(),
                  outside_px(trace, shown.scene));
  } catch (const evenbevel::Error& error) {
    std::printf("refused: %s\n", error.what());
  }
}

/// Picture, camera file beside it, what to type to measure it, and what comes of it.
void draw(const Options& options) {
  const HardScene scene = scene_of(*options.picture, options);
  const evenbevel::test::TrialPhoto shown =
      evenbevel::test::adverse_photo(scene.stage, scene.light, scene.number);
  cv::imwrite(options.file, shown.photo.pixels);
  const std::string camera_file = options.file + ".yml";
  evenbevel::write_camera_file(shown.camera_file, camera_file);
  const Trial trial = measured(scene);
  const evenbevel::test::Conditions& conditions = trial.conditions;
  std::printf("%s, %s: %.1f px/mm, camera %.0f mm away, %+.1f mm aside (card's y)\n",
              name(scene.stage), name(scene.light), conditions.px_per_mm, conditions.distance_mm,
              conditions.beside_mm);
  std::printf("lens %s, bar %s, %s\n",
              conditions.unknown.lens         ? "unknown"
              : conditions.unknown.moved_lens ? "moved"
                                              : "as in its file",
              conditions.unknown.bar ? "not measured" : "measured",
              conditions.phone_chain ? "a phone's picture chain" : "a plain picture chain");
  print_blade(shown.scene);
  print_borders(shown);
  const evenbevel::EdgeSettings& settings = shown.settings;
  std::printf("evenbevel edge %s --thickness %.4fmm --camera-file %s", options.file.c_str(),
              settings.thickness_mm, camera_file.c_str());
  if (settings.tip)
    std::printf(" --tip %s", *settings.tip == evenbevel::Tip::left ? "left" : "right");
  std::printf("\nprinted over nominal: along %.5f, across %.5f\n", settings.print.along,
              settings.print.across);
  print_scene(HardScene{scene.number, scene.stage, scene.light, trial});
}

/// The one of four that is called so.
template <class Kind>
Kind called(const char* wanted) {
  for (int i = 0; i < 4; ++i) {
    if (std::strcmp(name(static_cast<Kind>(i)), wanted) == 0) return static_cast<Kind>(i);
  }
  std::fprintf(stderr, "no such stage or light: %s\n", wanted);
  std::exit(2);
}

Options read_options(int argc, char** argv) {
  Options options;
  int place = 0;
  for (int i = 1; i < argc; ++i) {
    const std::string word = argv[i];
    const auto value = [&] { return i + 1 < argc ? argv[++i] : ""; };
    if (word == "--jobs") {
      options.jobs = std::max(1, std::atoi(value()));
    } else if (word == "--stage") {
      options.stage = called<SceneStage>(value());
    } else if (word == "--light") {
      options.light = called<LightKind>(value());
    } else if (word == "--picture") {
      options.picture = std::atoi(value());
      options.file = value();
    } else {
      (place++ == 0 ? options.scenes : options.first) = std::atoi(word.c_str());
    }
  }
  return options;
}

}  // namespace

int main(int argc, char** argv) {
  const Options options = read_options(argc, argv);
  cv::setNumThreads(1);  // one core unless asked for more
  if (options.picture) {
    draw(options);
    return 0;
  }
  const std::vector<HardScene> scenes = measure(options);
  std::printf("\n");
  evenbevel::test::print_bins(scenes);
  double drawn = 0.0, seconds = 0.0;
  for (const HardScene& scene : scenes) {
    drawn += scene.trial.seconds_drawn;
    seconds += scene.trial.seconds_measured;
  }
  if (options.jobs == 1) {
    std::printf("\nprocessor time: drawing %.1f s, measuring %.1f s\n", drawn, seconds);
  }
  return 0;
}
