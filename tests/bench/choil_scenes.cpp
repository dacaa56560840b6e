// Measures many random choil photos with known truth and prints a table:
// bench_choil_scenes [SCENES] [FIRST] [adverse]. A line for each scene goes to standard error.

#include <cstdio>
#include <cstdlib>
#include <string_view>
#include <vector>

#include "../choil_view/trial.hpp"

using evenbevel::test::ChoilTrial;
using evenbevel::test::tally;

namespace {

void print_trial(const ChoilTrial& trial) {
  if (trial.refused) {
    std::fprintf(stderr, "%d refused: %s\n", trial.number, trial.refused->c_str());
    return;
  }
  std::fprintf(stderr, "%d:", trial.number);
  for (const char* quantity : {"thickness near", "thickness", "angle"}) {
    const evenbevel::test::ReadingTally one = tally(std::vector{trial}, quantity);
    std::fprintf(stderr, "  %s %+.4f held %.2f U95 %.4f", quantity, one.mean, one.held,
                 one.median_U95);
  }
  if (const int count = evenbevel::test::false_readings(trial); count > 0) {
    std::fprintf(stderr, "  FALSE %d", count);
  }
  std::fprintf(stderr, "  radii %d of %d\n", trial.radii_held, trial.radii);
}

}  // namespace

int main(int argc, char** argv) {
  const int scenes = argc > 1 ? std::atoi(argv[1]) : 100;
  const int first = argc > 2 ? std::atoi(argv[2]) : 1000;
  std::vector<ChoilTrial> trials;
  const auto light = argc > 3 && std::string_view(argv[3]) == "adverse"
                         ? evenbevel::test::ChoilLight::adverse
                         : evenbevel::test::ChoilLight::soft;
  int refused = 0, with_false = 0, radii = 0, radii_held = 0, wrong_shapes = 0;
  for (int number = first; number < first + scenes; ++number) {
    trials.push_back(evenbevel::test::run_choil_trial(number, light));
    const ChoilTrial& trial = trials.back();
    print_trial(trial);
    refused += trial.refused ? 1 : 0;
    with_false += evenbevel::test::false_readings(trial) > 0 ? 1 : 0;
    radii += trial.radii, radii_held += trial.radii_held, wrong_shapes += trial.wrong_shapes;
  }
  for (const char* quantity :
       {"thickness near", "thickness", "half", "asymmetry", "edge", "stock", "angle"}) {
    evenbevel::test::print(quantity, tally(trials, quantity));
  }
  std::printf("%d scenes with a false number (beyond 1.3 U95)\n", with_false);
  std::printf("%d of %d refused; hollow radii held %d of %d; wrong shapes %d\n", refused, scenes,
              radii_held, radii, wrong_shapes);
}
