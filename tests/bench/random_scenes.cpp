// Measures many random scenes with known truth and prints a table:
// random_scenes [SCENES] [FIRST] [quick], the last for quick looks without a card.
// A line for each scene goes to standard error.

#include <array>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <vector>

#include "../edge_view/trial.hpp"

namespace {

using evenbevel::test::Quantity;
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
constexpr std::array<QuantityName, 7> kQuantities{{{Quantity::offset, "offset"},
                                                   {Quantity::mean_offset, "mean offset"},
                                                   {Quantity::width, "land or gap"},
                                                   {Quantity::facet_difference, "facet difference"},
                                                   {Quantity::land_taper, "land taper"},
                                                   {Quantity::bow, "bow"},
                                                   {Quantity::plunge_mismatch, "plunge mismatch"}}};

void print_trial(const char* stage, int number, const Trial& trial) {
  if (!trial.refused.empty()) {
    std::fprintf(stderr, "%s %d refused: %s\n", stage, number, trial.refused.c_str());
    return;
  }
  const Tally one = tally({trial}, Quantity::offset);
  std::fprintf(stderr, "%s %d: stations %d rms %.4f mean %+.4f worst %.4f held %.2f U95 %.4f",
               stage, number, one.stations, one.rms, one.mean, one.worst, one.held, one.median_u95);
  if (trial.plunge_mismatch_mm) {
    std::fprintf(stderr, " plunge %+.3f U95 %.3f", trial.plunge_mismatch_mm->error,
                 trial.plunge_mismatch_mm->u95);
  }
  std::fprintf(stderr, "%s\n", trial.right_stage ? "" : " WRONG STAGE");
}

}  // namespace

int main(int argc, char** argv) {
  const int scenes = argc > 1 ? std::atoi(argv[1]) : 1000;
  const int first = argc > 2 ? std::atoi(argv[2]) : 0;
  const bool quick = argc > 3 && std::string(argv[3]) == "quick";
  std::printf("%-14s %-17s %6s %7s %6s %9s %9s %9s %9s %6s\n", "stage", "quantity", "scenes",
              "refused", "wrong", "readings", "rms", "mean", "worst", "held");
  double drawn = 0.0;
  double measured = 0.0;
  for (std::size_t s = 0; s < kStages.size(); ++s) {
    std::vector<Trial> trials;
    for (int i = 0; i < scenes / 4; ++i) {
      const SceneStage stage = kStages[s].stage;
      trials.push_back(quick ? evenbevel::test::run_quick_look_trial(stage, first + i).without_card
                             : evenbevel::test::run_trial(stage, first + i));
      print_trial(kStages[s].name, first + i, trials.back());
      drawn += trials.back().seconds_drawn;
      measured += trials.back().seconds_measured;
    }
    for (const QuantityName& quantity : kQuantities) {
      const Tally t = tally(trials, quantity.quantity);
      if (t.stations == 0) continue;
      std::printf("%-14s %-17s %6d %7d %6d %9d %9.4f %+9.4f %9.4f %6.3f  median U95 %.4f mm\n",
                  kStages[s].name, quantity.name, t.trials, t.refused, t.wrong_stage, t.stations,
                  t.rms, t.mean, t.worst, t.held, t.median_u95);
    }
    std::fflush(stdout);
  }
  std::printf("processor time: drawing %.1f s, measuring %.1f s\n", drawn, measured);
  return 0;
}
