// Measures many random photos of the practice strip and prints a table: bench_practice [SCENES]
// [FIRST]. In half of them the lens has moved since the camera file was made.

#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <vector>

#include "../edge_view/practice_scene.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/practice_view.hpp"
#include "seeded.hpp"

using evenbevel::CameraModel;
using evenbevel::PracticeCheck;
using evenbevel::PracticeCheckKind;
using evenbevel::PracticeResult;
using evenbevel::test::PracticeScene;
using evenbevel::test::uniform;

namespace {

constexpr std::array kNames = {"offset, handle end", "offset, middle", "offset, tip end",
                               "rim to rim",         "line to line",   "plunge mismatch"};

struct Readings {
  int all = 0, inside = 0;
  double squares = 0.0, worst = 0.0, U95 = 0.0;

  void add(const PracticeCheck& check) {
    ++all;
    inside += check.inside() ? 1 : 0;
    squares += check.difference_mm() * check.difference_mm();
    worst = std::max(worst, std::abs(check.difference_mm()));
    U95 += evenbevel::U95(check.measured_mm);
  }
  void print(const char* name) const {
    std::printf("%-20s %4d read, %4d inside, RMS %.4f mm, worst %.4f mm, mean U95 %.4f mm\n", name,
                all, inside, all > 0 ? std::sqrt(squares / all) : 0.0, worst,
                all > 0 ? U95 / all : 0.0);
  }
};

/// A phone's file: its lens was elsewhere when it was calibrated.
CameraModel camera_file(const PracticeScene& scene, bool moved, std::mt19937_64& rng) {
  CameraModel file = scene.camera;
  if (!moved) return file;
  file.focal_px *= 1.0 + uniform(rng, -0.015, 0.015);
  file.centre_px += Eigen::Vector2d(uniform(rng, -15.0, 15.0), uniform(rng, -15.0, 15.0));
  return file;
}

}  // namespace

int main(int argc, char** argv) {
  const int scenes = argc > 1 ? std::atoi(argv[1]) : 30;
  const int first = argc > 2 ? std::atoi(argv[2]) : 1000;
  std::array<Readings, kNames.size()> readings;
  int refused = 0, stations = 0, inside = 0, bent = 0;
  for (int number = first; number < first + scenes; ++number) {
    std::mt19937_64 rng = evenbevel::test::seeded("PracticeBench", number);
    const PracticeScene scene = evenbevel::test::random_practice_scene(rng);
    const auto imaging = evenbevel::test::random_practice_imaging(rng);
    const evenbevel::Photo photo = evenbevel::test::practice_photo(scene, imaging, rng);
    const CameraModel camera = camera_file(scene, number % 2 == 1, rng);
    try {
      const PracticeResult result = evenbevel::practice_view(
          photo, camera, {.print = {scene.print_along, scene.print_across, 0.0005, true}});
      for (std::size_t kind = 0; kind < kNames.size(); ++kind) {
        const PracticeCheck* check =
            evenbevel::find(result.checks, static_cast<PracticeCheckKind>(kind));
        if (check != nullptr) readings[kind].add(*check);
      }
      stations += result.stations, inside += result.stations_inside;
      bent += result.paper_is_bent() ? 1 : 0;
    } catch (const evenbevel::Error& e) {
      ++refused;
      std::fprintf(stderr, "%d refused: %s\n", number, e.what());
    }
  }
  for (std::size_t kind = 0; kind < kNames.size(); ++kind) readings[kind].print(kNames[kind]);
  std::printf("%d of %d refused, %d called bent; %d of %d stations inside\n", refused, scenes, bent,
              inside, stations);
}
