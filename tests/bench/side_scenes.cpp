// Measures both faces of many random blades with known truth and prints a table:
// bench_side_scenes [SCENES] [FIRST]. A line for each scene goes to standard error.

#include <cstdio>
#include <cstdlib>
#include <vector>

#include "../side_view/trial.hpp"

using evenbevel::test::ReadingTally;
using evenbevel::test::SideTrial;
using evenbevel::test::tally;

namespace {

void print_trial(const SideTrial& trial) {
  if (trial.refused) {
    std::fprintf(stderr, "%d refused: %s\n", trial.number, trial.refused->c_str());
    return;
  }
  const ReadingTally height = tally(std::vector{trial}, "bevel height");
  std::fprintf(
      stderr,
      "%d: bevel height rms %.3f mean %+.3f (edge %+.3f, bevel line %+.3f) worst %.3f held "
      "%.2f, %d of %d\n",
      trial.number, height.rms, height.mean, tally(std::vector{trial}, "edge outline").mean,
      tally(std::vector{trial}, "bevel line").mean, height.worst, height.held, trial.covered,
      trial.stations);
}

}  // namespace

int main(int argc, char** argv) {
  const int scenes = argc > 1 ? std::atoi(argv[1]) : 50;
  const int first = argc > 2 ? std::atoi(argv[2]) : 1000;
  std::vector<SideTrial> trials;
  int refused = 0, stations = 0, covered = 0;
  for (int number = first; number < first + scenes; ++number) {
    trials.push_back(evenbevel::test::run_side_trial(number));
    print_trial(trials.back());
    refused += trials.back().refused ? 1 : 0;
    stations += trials.back().stations, covered += trials.back().covered;
  }
  for (const char* quantity : {"bevel height", "edge outline", "bevel line", "height difference",
                               "plunge mismatch", "plunge angle", "plunge radius"}) {
    evenbevel::test::print(quantity, tally(trials, quantity));
  }
  std::printf("%d of %d refused; covered %d of %d stations\n", refused, scenes, covered, stations);
}
