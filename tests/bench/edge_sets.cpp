// Measures random sets of photos with known truth and prints a table: bench_edge_sets [SETS]
// [FIRST].

#include <array>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <vector>

#include "../edge_set/set_scene.hpp"

namespace {

using evenbevel::test::SceneStage;
using evenbevel::test::SetTally;
using evenbevel::test::SetTrial;

struct StageName {
  SceneStage stage;
  const char* name;
};
constexpr std::array<StageName, 4> kStages{{{SceneStage::ground, "edge ground"},
                                            {SceneStage::scribed_dye, "scribed, dye"},
                                            {SceneStage::scribed_bare, "scribed, bare"},
                                            {SceneStage::bevelled, "bevelled"}}};

void print(const char* set, const char* stage, const char* quantity, const SetTally& t) {
  if (t.readings == 0) return;
  std::printf("%-12s %-14s %-20s %7d rms %8.4f mean %+8.4f worst %8.4f held %.3f U95 %.4f\n", set,
              stage, quantity, t.readings, t.rms, t.mean, t.worst, t.held, t.median_u95);
}

void run(const char* set, const StageName& stage, SetTrial (*trial)(SceneStage, int), int sets,
         int first) {
  std::vector<SetTrial> trials;
  for (int i = 0; i < sets; ++i) {
    trials.push_back(trial(stage.stage, first + i));
    const SetTrial& one = trials.back();
    const SetTally offset = tally({one}, &SetTrial::offset_mm);
    const SetTally single = tally({one}, &SetTrial::single_offset_mm);
    std::fprintf(stderr, "%s %s %d: %s rms %.4f mean %+.4f held %.2f U95 %.4f; one photo %.4f %.4f",
                 set, stage.name, first + i, one.refused.c_str(), offset.rms, offset.mean,
                 offset.held, offset.median_u95, single.rms, single.median_u95);
    std::fprintf(stderr, " photos %d %s", one.photos, one.left_out.c_str());
    for (const SetTrial::Reading& r : one.land_height_mm) {
      std::fprintf(stderr, " height %+.3f U95 %.3f", r.error, r.u95);
    }
    std::fprintf(stderr, "\n");
  }
  int entered = 0;
  for (const SetTrial& one : trials) entered += one.photos;
  std::printf("%-12s %-14s %d photos entered in %d sets\n", set, stage.name, entered, sets);
  print(set, stage.name, "offset", tally(trials, &SetTrial::offset_mm));
  print(set, stage.name, "offset, one photo", tally(trials, &SetTrial::single_offset_mm));
  print(set, stage.name, "mean offset", tally(trials, &SetTrial::mean_offset_mm));
  print(set, stage.name, "land height", tally(trials, &SetTrial::land_height_mm));
  print(set, stage.name, "facet angle, rad", tally(trials, &SetTrial::facet_angle_rad));
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  const int sets = argc > 1 ? std::atoi(argv[1]) : 50;
  const int first = argc > 2 ? std::atoi(argv[2]) : 0;
  const std::string only = argc > 3 ? argv[3] : "";
  for (const StageName& stage : kStages) {
    if (only != "places") run("reversal", stage, evenbevel::test::run_reversal, sets, first);
    if (only != "reversal") {
      run("three places", stage, evenbevel::test::run_three_places, sets, first);
    }
  }
  return 0;
}
