// How often the 95 % intervals of the edge view hold the truth, over the hard scenes: a page in
// Markdown. coverage [SCENES] [FIRST]; how far it is goes to standard error. An interrupt (Ctrl-C)
// ends it early, with the page of what was measured so far.

#include <algorithm>
#include <array>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include <opencv2/core/utility.hpp>

#include "hard_scenes.hpp"

namespace {

using evenbevel::test::HardScene;
using evenbevel::test::Quantity;
using evenbevel::test::Reading;
using evenbevel::test::SceneStage;
using evenbevel::test::Tally;
using evenbevel::test::Trial;

constexpr std::array<SceneStage, 4> kStages{SceneStage::scribed_dye, SceneStage::scribed_bare,
                                            SceneStage::ground, SceneStage::bevelled};

struct QuantityName {
  Quantity quantity;
  const char* name;
};
constexpr std::array<QuantityName, 5> kQuantities{
    {{Quantity::offset, "offset, a station"},
     {Quantity::mean_offset, "offset, mean"},
     {Quantity::width, "land width or line gap"},
     {Quantity::facet_difference, "facet widths' difference"},
     {Quantity::plunge_mismatch, "plunge mismatch"}}};

std::vector<Trial> trials_of(const std::vector<HardScene>& scenes, SceneStage stage) {
  std::vector<Trial> trials;
  for (const HardScene& scene : scenes) {
    if (scene.stage == stage) trials.push_back(scene.trial);
  }
  return trials;
}

std::vector<Reading> all_readings(const std::vector<Trial>& trials, Quantity quantity) {
  std::vector<Reading> all;
  for (const Trial& trial : trials) {
    if (!trial.refused.empty()) continue;
    const std::vector<Reading> some = readings_of(trial, quantity);
    all.insert(all.end(), some.begin(), some.end());
  }
  return all;
}

void print_summary(const std::vector<HardScene>& scenes) {
  std::printf(
      "| quantity | stage | scenes | refused | wrong stage | readings | RMS mm | mean mm | worst "
      "mm "
      "| inside U95 | median U95 mm | over RMS "
      "|\n|---|---|---|---|---|---|---|---|---|---|---|---|\n");
  for (const QuantityName& quantity : kQuantities) {
    for (const SceneStage stage : kStages) {
      const Tally t = tally(trials_of(scenes, stage), quantity.quantity);
      if (t.stations == 0) continue;
      std::printf("| %s | %s | %d | %d | %d | %d | %.4f | %+.4f | %.3f | %.1f %% | %.4f | %.1f |\n",
                  quantity.name, name(stage), t.trials, t.refused, t.wrong_stage, t.stations, t.rms,
                  t.mean, t.worst, 100.0 * t.held, t.median_u95, t.median_u95 / t.rms);
    }
  }
}

constexpr std::array<double, 7> kBorders{-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0};

void print_histograms(const std::vector<HardScene>& scenes) {
  std::printf(
      "| quantity | stage | below -3 | -3 to -2 | -2 to -1 | -1 to 0 | 0 to 1 | 1 to 2 | 2 to 3 | "
      "above 3 |\n|---|---|---|---|---|---|---|---|---|---|\n"
      "| a normal distribution | | 0.1 | 2.1 | 13.6 | 34.1 | 34.1 | 13.6 | 2.1 | 0.1 |\n");
  for (const QuantityName& quantity : kQuantities) {
    for (const SceneStage stage : kStages) {
      const std::vector<Reading> readings =
          all_readings(trials_of(scenes, stage), quantity.quantity);
      if (readings.empty()) continue;
      std::array<double, kBorders.size() + 1> counts{};
      for (const Reading& reading : readings) {
        const auto bin =
            std::upper_bound(kBorders.begin(), kBorders.end(), reading.error / reading.u) -
            kBorders.begin();
        counts[static_cast<std::size_t>(bin)] += 1.0;
      }
      std::printf("| %s | %s |", quantity.name, name(stage));
      for (const double count : counts) {
        std::printf(" %.1f |", 100.0 * count / static_cast<double>(readings.size()));
      }
      std::printf("\n");
    }
  }
}

void print_misleading(const std::vector<HardScene>& scenes) {
  std::printf(
      "| scene | stage | light | wrong in | mean offset off by mm | its U95 mm | stations inside "
      "|\n|---|---|---|---|---|---|---|\n");
  for (const HardScene& scene : scenes) {
    const std::string why = falsehood(scene.trial);
    if (why.empty()) continue;
    const Reading mean = scene.trial.mean_offset_mm.value_or(Reading{});
    std::printf("| %d | %s | %s |%s | %+.4f | %.4f | %.0f %% |\n", scene.number, name(scene.stage),
                name(scene.light), why.c_str(), mean.error, mean.u95,
                100.0 * figures_of(scene.trial.offset_mm).held);
  }
}

/// The sentence of a refusal with its numbers taken out, so that refusals of one kind read alike.
std::string without_numbers(const std::string& refused) {
  std::string kind;
  for (const char letter : refused.substr(0, refused.find('\n'))) {
    const bool number = std::strchr("0123456789.+-", letter) != nullptr;
    if (!number) kind += letter;
    if (number && (kind.empty() || kind.back() != '#')) kind += '#';
  }
  return kind;
}

void print_refusals(const std::vector<HardScene>& scenes) {
  constexpr std::size_t kShown = 8;
  struct Kind {
    int tip_given = 0, tip_not_given = 0;
    std::vector<int> numbers;
  };
  std::map<std::string, Kind> kinds;
  for (const HardScene& scene : scenes) {
    if (scene.trial.refused.empty()) continue;
    Kind& kind = kinds[without_numbers(scene.trial.refused)];
    ++(scene.trial.conditions.unknown.tip ? kind.tip_not_given : kind.tip_given);
    kind.numbers.push_back(scene.number);
  }
  std::vector<std::pair<std::string, Kind>> rows(kinds.begin(), kinds.end());
  std::stable_sort(rows.begin(), rows.end(), [](const auto& a, const auto& b) {
    return a.second.numbers.size() > b.second.numbers.size();
  });
  std::printf("| refused since | tip given | not given | scenes |\n|---|---|---|---|\n");
  for (const auto& [reason, kind] : rows) {
    std::string some;
    for (std::size_t i = 0; i < std::min(kShown, kind.numbers.size()); ++i) {
      some += " " + std::to_string(kind.numbers[i]);
    }
    std::printf("| %s | %d | %d |%s |\n", reason.c_str(), kind.tip_given, kind.tip_not_given,
                some.c_str());
  }
}

volatile std::sig_atomic_t interrupted = 0;

std::vector<HardScene> measure(int count, int first) {
  std::vector<HardScene> scenes;
  std::signal(SIGINT, [](int) { interrupted = 1; });
  for (int i = 0; i < count && interrupted == 0; ++i) {
    HardScene scene = evenbevel::test::hard_scene(first + i);
    scene.trial = run_adverse_trial(scene.stage, scene.light, scene.number);
    scenes.push_back(std::move(scene));
    std::fprintf(stderr, "%d of %d\n", i + 1, count);
  }
  return scenes;
}

}  // namespace

int main(int argc, char** argv) {
  cv::setNumThreads(1);
  const int count = argc > 1 ? std::atoi(argv[1]) : 160;
  const int first = argc > 2 ? std::atoi(argv[2]) : 20000;
  const std::vector<HardScene> scenes = measure(count, first);
  std::printf(
      "# Coverage of the edge view's intervals\n\n"
      "Hard scenes with known truth, under one lamp from any side, a window, tubes or soft light: "
      "stage, blade, pose, blur, noise, sharpening, JPEG or a phone's picture chain, printed "
      "scale, "
      "jaws out of square (0.1 degree, one sigma). The lens has moved since its camera file was "
      "made "
      "in two of five, in one of ten there is no camera file; in half of them the tip is not "
      "given. "
      "Remade by\n\n"
      "    cmake --preset bench && cmake --build --preset bench --target bench_coverage\n"
      "    build/bench/tests/bench/bench_coverage %zu %d > tests/bench/coverage.md\n\n",
      scenes.size(), first);
  print_summary(scenes);
  std::printf(
      "\n## By stage, light, place of the camera and look\n\n"
      "Of the mean offset, of the offset at single stations and of the plunge mismatch. `read`: of "
      "the stations with lines or a land in view. `misleading`: the mean offset outside its U95, "
      "fewer than 90 %% of the stations inside, the wrong face, or plunge lines off by over 1.3 "
      "U95. "
      "Stations of one photo share most of their errors. A scene counts by the median contrast of "
      "its weaker border, a station by its own.\n\n");
  print_bins(scenes);
  std::printf("\n## Scenes that mislead\n\n");
  print_misleading(scenes);
  std::printf("\n## Refusals\n\n");
  print_refusals(scenes);
  std::printf("\n## Error over u, per cent of the readings\n\n");
  print_histograms(scenes);
  return 0;
}
