// How often the 95 % intervals of the edge view hold the truth, over random scenes: a page in
// Markdown. coverage [SCENES] [FIRST]; how far it is goes to standard error. Every fourth scene's
// lens is unknown, every fifth's printed bar was not measured. An interrupt (Ctrl-C) ends it early,
// with the page of what was measured so far.

#include <algorithm>
#include <array>
#include <cmath>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <string>
#include <vector>

#include "../edge_view/trial.hpp"

namespace {

using evenbevel::test::Conditions;
using evenbevel::test::Quantity;
using evenbevel::test::Reading;
using evenbevel::test::SceneStage;
using evenbevel::test::Tally;
using evenbevel::test::Trial;

struct StageName {
  SceneStage stage;
  const char* name;
};
constexpr std::array<StageName, 4> kStages{{{SceneStage::scribed_dye, "scribed, dye"},
                                            {SceneStage::scribed_bare, "scribed, bare"},
                                            {SceneStage::ground, "edge ground"},
                                            {SceneStage::bevelled, "bevelled"}}};

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

struct ConditionName {
  const char* name;
  std::function<bool(const Conditions&)> met;
};

const std::vector<ConditionName>& conditions() {
  constexpr double kSquareRad = 0.0017;  // 0.1 degree, what the budget assumes
  static const std::vector<ConditionName> kAll{
      {"all", [](const Conditions&) { return true; }},
      {"camera file, bar measured",
       [](const Conditions& c) { return !c.unknown.lens && !c.unknown.bar; }},
      {"lens unknown", [](const Conditions& c) { return c.unknown.lens; }},
      {"bar not measured", [](const Conditions& c) { return c.unknown.bar; }},
      {"print off by more than 0.3 %", [](const Conditions& c) { return c.print_error > 0.003; }},
      {"camera within 4 mm of over the edge",
       [](const Conditions& c) { return std::abs(c.beside_mm) < 4.0; }},
      {"camera more than 8 mm beside",
       [](const Conditions& c) { return std::abs(c.beside_mm) > 8.0; }},
      {"jaws out of square by more than 0.1 deg",
       [](const Conditions& c) { return std::abs(c.jaw_tilt_rad) > kSquareRad; }},
      {"blur above 1 px", [](const Conditions& c) { return c.blur_px > 1.0; }},
      {"noise above 1 %", [](const Conditions& c) { return c.noise > 0.01; }}};
  return kAll;
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

void print_summary(const std::array<std::vector<Trial>, 4>& trials) {
  std::printf(
      "| quantity | stage | scenes | refused | wrong stage | readings | RMS mm | mean mm | worst "
      "mm "
      "| inside U95 | median U95 mm | over RMS "
      "|\n|---|---|---|---|---|---|---|---|---|---|---|---|\n");
  for (const QuantityName& quantity : kQuantities) {
    for (std::size_t s = 0; s < kStages.size(); ++s) {
      const Tally t = tally(trials[s], quantity.quantity);
      if (t.stations == 0) continue;
      std::printf("| %s | %s | %d | %d | %d | %d | %.4f | %+.4f | %.3f | %.1f %% | %.4f | %.1f |\n",
                  quantity.name, kStages[s].name, t.trials, t.refused, t.wrong_stage, t.stations,
                  t.rms, t.mean, t.worst, 100.0 * t.held, t.median_u95, t.median_u95 / t.rms);
    }
  }
}

constexpr std::array<double, 7> kBorders{-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0};

void print_histograms(const std::array<std::vector<Trial>, 4>& trials) {
  std::printf(
      "| quantity | stage | below -3 | -3 to -2 | -2 to -1 | -1 to 0 | 0 to 1 | 1 to 2 | 2 to 3 | "
      "above 3 |\n|---|---|---|---|---|---|---|---|---|---|\n"
      "| a normal distribution | | 0.1 | 2.1 | 13.6 | 34.1 | 34.1 | 13.6 | 2.1 | 0.1 |\n");
  for (const QuantityName& quantity : kQuantities) {
    for (std::size_t s = 0; s < kStages.size(); ++s) {
      const std::vector<Reading> readings = all_readings(trials[s], quantity.quantity);
      if (readings.empty()) continue;
      std::array<double, kBorders.size() + 1> counts{};
      for (const Reading& reading : readings) {
        const auto bin =
            std::upper_bound(kBorders.begin(), kBorders.end(), reading.error / reading.u) -
            kBorders.begin();
        counts[static_cast<std::size_t>(bin)] += 1.0;
      }
      std::printf("| %s | %s |", quantity.name, kStages[s].name);
      for (const double count : counts) {
        std::printf(" %.1f |", 100.0 * count / static_cast<double>(readings.size()));
      }
      std::printf("\n");
    }
  }
}

void print_conditions(const std::array<std::vector<Trial>, 4>& trials) {
  std::printf("| condition |");
  for (const StageName& stage : kStages) std::printf(" %s |", stage.name);
  std::printf("\n|---|---|---|---|---|\n");
  for (const ConditionName& condition : conditions()) {
    std::printf("| %s |", condition.name);
    for (const std::vector<Trial>& of_stage : trials) {
      std::vector<Trial> met;
      std::copy_if(of_stage.begin(), of_stage.end(), std::back_inserter(met),
                   [&](const Trial& trial) { return condition.met(trial.conditions); });
      const Tally t = tally(met, Quantity::offset);
      if (t.stations == 0) {
        std::printf(" |");
      } else {
        std::printf(" %.1f %%, RMS %.3f mm (%d) |", 100.0 * t.held, t.rms, t.trials);
      }
    }
    std::printf("\n");
  }
}

Trial trial_of(SceneStage stage, int number, int place) {
  return evenbevel::test::run_trial(stage, number, {.lens = place % 4 == 3, .bar = place % 5 == 4});
}

volatile std::sig_atomic_t interrupted = 0;

}  // namespace

int main(int argc, char** argv) {
  const int scenes = argc > 1 ? std::atoi(argv[1]) : 1000;
  const int first = argc > 2 ? std::atoi(argv[2]) : 20000;
  std::array<std::vector<Trial>, 4> trials;
  std::signal(SIGINT, [](int) { interrupted = 1; });
  int done = 0;
  for (int i = 0; i < scenes / 4 && interrupted == 0; ++i) {
    for (std::size_t s = 0; s < kStages.size(); ++s) {
      trials[s].push_back(trial_of(kStages[s].stage, first + i, i));
    }
    done = 4 * (i + 1);
    std::fprintf(stderr, "%d of %d\n", done, scenes);
  }
  std::printf(
      "# Coverage of the edge view's intervals\n\n"
      "Random scenes with known truth: stage, blade, pose, light, noise, blur, sharpening, JPEG, "
      "printed scale, jaws out of square (0.1 degree, one sigma). In every fourth scene there is "
      "no camera file, in every fifth the printed bar was not measured. Remade by\n\n"
      "    cmake --preset bench && cmake --build --preset bench --target bench_coverage\n"
      "    build/bench/tests/bench/bench_coverage %d %d > tests/bench/coverage.md\n\n",
      done, first);
  print_summary(trials);
  std::printf("\n## Error over u, per cent of the readings\n\n");
  print_histograms(trials);
  std::printf(
      "\n## The offset at single stations, by condition\n\n"
      "Share inside U95, RMS error and, in brackets, scenes. Stations of one photo share most of "
      "their errors.\n\n");
  print_conditions(trials);
  return 0;
}
