// Measures many random choil photos with known truth and prints a table, or draws one of them:
//     bench_choil_scenes [SCENES] [FIRST] [adverse]
//     bench_choil_scenes --picture NUMBER FILE.png [adverse]
// A line for each scene goes to standard error.

#include <cstdio>
#include <cstdlib>
#include <string>
#include <string_view>
#include <vector>

#include <opencv2/imgcodecs.hpp>

#include "../choil_view/trial.hpp"

using evenbevel::test::ChoilLight;
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

ChoilLight light_of(int argc, char** argv, int at) {
  const bool adverse = argc > at && std::string_view(argv[at]) == "adverse";
  return adverse ? ChoilLight::adverse : ChoilLight::soft;
}

/// Writes the photo and FILE.yml, its camera; prints what is read in it against the truth.
void draw(int number, const std::string& file, ChoilLight light) {
  const evenbevel::test::ChoilPicture picture = evenbevel::test::choil_picture(number, light);
  cv::imwrite(file, picture.photo.pixels);
  write_camera_file(picture.random.scene.camera, file + ".yml");
  std::printf("evenbevel choil %s --camera-file %s.yml\n", file.c_str(), file.c_str());
  for (const evenbevel::test::Reading& reading : run_choil_trial(number, light).readings) {
    std::printf("%-16s off %+.4f U95 %.4f\n", reading.quantity.c_str(), reading.error, reading.U95);
  }
}

}  // namespace

int main(int argc, char** argv) {
  if (argc > 3 && std::string_view(argv[1]) == "--picture") {
    draw(std::atoi(argv[2]), argv[3], light_of(argc, argv, 4));
    return EXIT_SUCCESS;
  }
  const int scenes = argc > 1 ? std::atoi(argv[1]) : 100;
  const int first = argc > 2 ? std::atoi(argv[2]) : 1000;
  std::vector<ChoilTrial> trials;
  const ChoilLight light = light_of(argc, argv, 3);
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
