// Measures the hard scenes with known truth, in every light and stage, and prints a line for each
// and a table:
//     adverse_scenes [SCENES] [FIRST] [--jobs N] [--stage S] [--light L]
// Or draws one, and says what is in it:
//     adverse_scenes --picture NUMBER FILE.png [--stage S] [--light L]
// Scene NUMBER is the same whatever else is measured. Without --stage and --light these follow from
// the number. A line says FALSE where the answer would mislead: the mean offset outside its U95,
// fewer than 90 % of the stations inside, the wrong face, or a plunge mismatch outside 1.3 U95.

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <functional>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include <opencv2/core/utility.hpp>
#include <opencv2/imgcodecs.hpp>

#include "../edge_view/trial.hpp"
#include "evenbevel/units.hpp"

namespace {

using evenbevel::test::LightKind;
using evenbevel::test::Reading;
using evenbevel::test::SceneStage;
using evenbevel::test::Trial;

constexpr std::array<const char*, 4> kStages{"dye", "bare", "ground", "bevelled"};
constexpr std::array<const char*, 4> kLights{"soft", "window", "bulb", "tubes"};

struct Options {
  int scenes = 160;
  int first = 0;
  int jobs = 1;
  std::optional<int> stage, light;
  std::optional<int> picture;
  std::string file;
};

struct Scene {
  int number = 0;
  SceneStage stage = SceneStage::ground;
  LightKind light = LightKind::soft;
  Trial trial;
};

/// Sixteen scenes in a row go through every stage in every light.
Scene scene_of(int number, const Options& options) {
  Scene scene;
  scene.number = number;
  scene.stage = static_cast<SceneStage>(options.stage.value_or(number % 4));
  scene.light = static_cast<LightKind>(options.light.value_or(number / 4 % 4));
  return scene;
}

struct Figures {
  std::size_t stations = 0;
  double mean = 0.0, rms = 0.0, worst = 0.0, held = 0.0, median_u95 = 0.0;
};

Figures figures_of(const std::vector<Reading>& readings) {
  Figures f;
  std::vector<double> u95;
  for (const Reading& reading : readings) {
    f.mean += reading.error;
    f.rms += reading.error * reading.error;
    f.worst = std::max(f.worst, std::abs(reading.error));
    f.held += reading.held() ? 1.0 : 0.0;
    u95.push_back(reading.u95);
  }
  f.stations = u95.size();
  if (u95.empty()) return f;
  const auto count = static_cast<double>(u95.size());
  f.mean /= count;
  f.rms = std::sqrt(f.rms / count);
  f.held /= count;
  const auto middle = u95.begin() + static_cast<std::ptrdiff_t>(u95.size() / 2);
  std::nth_element(u95.begin(), middle, u95.end());
  f.median_u95 = *middle;
  return f;
}

double share(std::size_t of, std::size_t all) {
  return all > 0 ? static_cast<double>(of) / static_cast<double>(all) : 0.0;
}

/// Why the answer would mislead; empty: it would not.
std::string falsehood(const Trial& trial) {
  if (!trial.refused.empty()) return {};
  std::string why;
  if (trial.wrong_tip) why += " face";
  if (trial.mean_offset_mm && !trial.mean_offset_mm->held()) why += " mean";
  const Figures f = figures_of(trial.offset_mm);
  if (f.stations > 0 && f.held < 0.9) why += " stations";
  const std::optional<Reading>& plunge = trial.plunge_mismatch_mm;
  if (plunge && std::abs(plunge->error) > 1.3 * plunge->u95) why += " plunge";
  return why;
}

void print_scene(const Scene& scene) {
  const Trial& trial = scene.trial;
  std::printf("%5d %-8s %-6s ", scene.number, kStages[static_cast<std::size_t>(scene.stage)],
              kLights[static_cast<std::size_t>(scene.light)]);
  if (!trial.refused.empty()) {
    std::printf("refused: %.60s\n", trial.refused.c_str());
    return;
  }
  const Figures f = figures_of(trial.offset_mm);
  const double read = share(f.stations, trial.true_contrast.size());
  std::printf("mean %+.4f rms %.4f worst %.4f held %.2f U95 %.4f read %.2f", f.mean, f.rms, f.worst,
              f.held, f.median_u95, read);
  if (const std::optional<Reading>& plunge = trial.plunge_mismatch_mm) {
    std::printf(" plunge %+.3f U95 %.3f", plunge->error, plunge->u95);
  }
  std::printf("%s", trial.right_stage ? "" : " other-stage");
  const std::string why = falsehood(trial);
  std::printf("%s%s\n", why.empty() ? "" : " FALSE:", why.c_str());
  std::fflush(stdout);
}

using Filter = std::function<bool(const Scene&, const Reading*)>;

void print_row(const std::vector<Scene>& scenes, const std::string& title, const Filter& in_bin) {
  int count = 0, refused = 0, wrong = 0;
  std::size_t to_read = 0;
  std::vector<Reading> readings, plunges;
  for (const Scene& scene : scenes) {
    const Trial& trial = scene.trial;
    for (const double contrast : trial.true_contrast) {
      const Reading station{.contrast = contrast};
      if (in_bin(scene, &station)) ++to_read;
    }
    for (const Reading& reading : trial.offset_mm) {
      if (in_bin(scene, &reading)) readings.push_back(reading);
    }
    if (!in_bin(scene, nullptr)) continue;
    ++count;
    if (!trial.refused.empty()) ++refused;
    if (!falsehood(trial).empty()) ++wrong;
    if (trial.plunge_mismatch_mm) plunges.push_back(*trial.plunge_mismatch_mm);
  }
  if (count == 0) return;
  const Figures f = figures_of(readings);
  const Figures p = figures_of(plunges);
  std::printf(
      "| %-22s | %4d | %4d | %4d | %.2f | %.4f | %.4f | %.3f | %3zu | %.3f | %.3f | %.2f |\n",
      title.c_str(), count, refused, wrong, share(f.stations, to_read), f.rms, f.median_u95, f.held,
      p.stations, p.rms, p.median_u95, p.held);
}

struct Bin {
  double from, to;
};

/// A row for each bin of a scene's own figure.
void print_bins(const std::vector<Scene>& scenes, const char* title, const std::vector<Bin>& bins,
                double (*figure)(const Scene&, const Reading*)) {
  for (const Bin& bin : bins) {
    print_row(scenes, cv::format(title, bin.from, bin.to), [&](const Scene& s, const Reading* r) {
      const double at = figure(s, r);
      return at >= bin.from && at < bin.to;
    });
  }
}

void print_kinds(const std::vector<Scene>& scenes) {
  for (int stage = 0; stage < 4; ++stage) {
    for (int light = 0; light < 4; ++light) {
      print_row(scenes,
                std::string(kStages[static_cast<std::size_t>(stage)]) + ", " +
                    kLights[static_cast<std::size_t>(light)],
                [=](const Scene& s, const Reading*) {
                  return static_cast<int>(s.stage) == stage && static_cast<int>(s.light) == light;
                });
    }
  }
}

void print_table(const std::vector<Scene>& scenes) {
  std::printf(
      "\n| bin                    | scenes | refused | FALSE | read | RMS mm | median U95 | inside "
      "| plunges | RMS | median U95 | inside "
      "|\n|---|---|---|---|---|---|---|---|---|---|---|---|\n");
  print_row(scenes, "all", [](const Scene&, const Reading*) { return true; });
  print_kinds(scenes);
  print_bins(scenes, "camera %.0f-%.0f mm aside", {{0.0, 4.0}, {4.0, 8.0}, {8.0, 99.0}},
             [](const Scene& s, const Reading*) { return std::abs(s.trial.conditions.beside_mm); });
  print_bins(scenes, "%.0f-%.0f px/mm", {{0.0, 12.0}, {12.0, 16.0}, {16.0, 99.0}},
             [](const Scene& s, const Reading*) { return s.trial.conditions.px_per_mm; });
  // A scene counts by its median, a station by its own weaker border.
  print_bins(scenes, "contrast %.2f-%.2f", {{0.0, 0.08}, {0.08, 0.25}, {0.25, 99.0}},
             [](const Scene& s, const Reading* r) {
               return r != nullptr ? r->contrast : s.trial.conditions.contrast;
             });
  const auto unknown = [](const Scene& s) { return s.trial.conditions.unknown; };
  print_row(scenes, "lens moved",
            [&](const Scene& s, const Reading*) { return unknown(s).moved_lens; });
  print_row(scenes, "lens as in its file", [&](const Scene& s, const Reading*) {
    return !unknown(s).moved_lens && !unknown(s).lens;
  });
  print_row(scenes, "no camera file",
            [&](const Scene& s, const Reading*) { return unknown(s).lens; });
  print_row(scenes, "tip not given",
            [&](const Scene& s, const Reading*) { return unknown(s).tip; });
  print_row(scenes, "phone's picture chain",
            [](const Scene& s, const Reading*) { return s.trial.conditions.phone_chain; });
}

Trial measured(const Scene& scene) {
  return evenbevel::test::run_adverse_trial(scene.stage, scene.light, scene.number);
}

std::vector<Scene> measure(const Options& options) {
  std::vector<Scene> scenes;
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

/// Picture, camera file beside it, what to type to measure it, and what comes of it.
void draw(const Options& options) {
  const Scene scene = scene_of(*options.picture, options);
  const evenbevel::test::TrialPhoto shown =
      evenbevel::test::adverse_photo(scene.stage, scene.light, scene.number);
  cv::imwrite(options.file, shown.photo.pixels);
  const std::string camera_file = options.file + ".yml";
  evenbevel::write_camera_file(shown.camera_file, camera_file);
  const Trial trial = measured(scene);
  const evenbevel::test::Conditions& conditions = trial.conditions;
  std::printf("%s, %s: %.1f px/mm, camera %.0f mm away, %+.1f mm aside (card's y)\n",
              kStages[static_cast<std::size_t>(scene.stage)],
              kLights[static_cast<std::size_t>(scene.light)], conditions.px_per_mm,
              conditions.distance_mm, conditions.beside_mm);
  std::printf("lens %s, bar %s, %s\n",
              conditions.unknown.lens         ? "unknown"
              : conditions.unknown.moved_lens ? "moved"
                                              : "as in its file",
              conditions.unknown.bar ? "not measured" : "measured",
              conditions.phone_chain ? "a phone's picture chain" : "a plain picture chain");
  print_blade(shown.scene);
  const evenbevel::EdgeSettings& settings = shown.settings;
  std::printf("evenbevel edge %s --thickness %.4fmm --camera-file %s", options.file.c_str(),
              settings.thickness_mm, camera_file.c_str());
  if (settings.tip)
    std::printf(" --tip %s", *settings.tip == evenbevel::Tip::left ? "left" : "right");
  std::printf("\nprinted over nominal: along %.5f, across %.5f\n", settings.print.along,
              settings.print.across);
  print_scene(Scene{scene.number, scene.stage, scene.light, trial});
}

std::optional<int> place_in(const std::array<const char*, 4>& names, const char* wanted) {
  for (int i = 0; i < 4; ++i) {
    if (std::strcmp(names[static_cast<std::size_t>(i)], wanted) == 0) return i;
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
      options.stage = place_in(kStages, value());
    } else if (word == "--light") {
      options.light = place_in(kLights, value());
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
  const std::vector<Scene> scenes = measure(options);
  print_table(scenes);
  double drawn = 0.0, seconds = 0.0;
  for (const Scene& scene : scenes) {
    drawn += scene.trial.seconds_drawn;
    seconds += scene.trial.seconds_measured;
  }
  if (options.jobs == 1) {
    std::printf("\nprocessor time: drawing %.1f s, measuring %.1f s\n", drawn, seconds);
  }
  return 0;
}
