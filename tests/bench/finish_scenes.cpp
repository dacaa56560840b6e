// Counts the scratches of many random faces with known truth and prints a page:
// bench_finish_scenes [SCENES] [FIRST] [KIND] [SEEDS] > finish.md. A line for each scene goes to
// standard error. KIND: that kind alone. SEEDS: another word's scenes, as those that set constants.
// bench_finish_scenes --picture N FOLDER [KIND] draws a scene's photos, KIND counted from 0.

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <future>
#include <string>
#include <vector>

#include <opencv2/imgcodecs.hpp>

#include "../finish_view/trial.hpp"

using evenbevel::test::FinishTrial;
using evenbevel::test::FinishWish;
using evenbevel::test::GrooveFate;

namespace {

constexpr const char* kSeeds = "FinishBench";

struct Kind {
  const char* name;
  FinishWish wish;
};

std::vector<Kind> kinds() {
  FinishWish four, one, along, none, fine, faint, near_lay, two;
  one.lamps = 1;
  two.lamps = 2;
  along.lamps = 1, along.lamp_along = true;
  none.grooves = 0;
  fine.least_px = 0.2, fine.most_px = 0.6;
  faint.least_contrast = 0.15, faint.most_contrast = 0.6;
  near_lay.least_cross_deg = 20.0, near_lay.most_cross_deg = 34.0;
  return {{"four lamps", four},
          {"one lamp across the scratches", one},
          {"two lamps", two},
          {"no scratches", none},
          {"finer than 0.6 px", fine},
          {"fainter than 0.6", faint},
          {"20 to 30 degrees off the lay", near_lay},
          {"one lamp along the scratches", along}};
}

void print_trial(const char* kind, const FinishTrial& trial) {
  if (trial.refused) {
    std::fprintf(stderr, "%s %d refused: %s\n", kind, trial.number, trial.refused->c_str());
    return;
  }
  const auto found = std::count_if(trial.grooves.begin(), trial.grooves.end(),
                                   [](const GrooveFate& groove) { return groove.found; });
  double lamp = 0.0;
  for (const double error : trial.lamp_error_deg) lamp = std::max(lamp, std::abs(error));
  std::fprintf(stderr, "%s %d: %d of %d, false %d, area %.1f, %.1f-%.1f, lamp %.1f, lay %.1f\n",
               kind, trial.number, static_cast<int>(found), static_cast<int>(trial.grooves.size()),
               trial.false_ones, trial.area_cm2, trial.count_low, trial.count_high, lamp,
               trial.lay_error_deg.value_or(-1.0));
}

struct Sums {
  int scenes = 0, refused = 0, grooves = 0, found = 0, false_ones = 0, held = 0, ends = 0,
      ends_within = 0, turned_within = 0, says_blind = 0;
  double area_cm2 = 0.0;
};

void add(const FinishTrial& trial, Sums& sums) {
  ++sums.scenes;
  if (trial.refused) {
    ++sums.refused;
    return;
  }
  sums.false_ones += trial.false_ones, sums.area_cm2 += trial.area_cm2;
  sums.held += trial.count_holds ? 1 : 0;
  sums.says_blind += trial.result.faces.front().blind.empty() ? 0 : 1;
  for (const GrooveFate& groove : trial.grooves) {
    ++sums.grooves;
    if (!groove.found) continue;
    ++sums.found;
    sums.turned_within += std::abs(groove.direction_error_deg) <= 3.0 ? 1 : 0;
    if (!groove.ends_error_mm) continue;
    ++sums.ends;
    sums.ends_within += *groove.ends_error_mm <= 0.3 ? 1 : 0;
  }
}

std::string share(int part, int all) {
  if (all == 0) return "-";
  char text[32];
  std::snprintf(text, sizeof(text), "%.3f", static_cast<double>(part) / all);
  return text;
}

void print_row(const char* name, const Sums& s) {
  std::printf("| %s | %d | %d | %d | %s | %d in %.0f | %s | %s | %s | %s |\n", name, s.scenes,
              s.refused, s.grooves, share(s.found, s.grooves).c_str(), s.false_ones, s.area_cm2,
              share(s.held, s.scenes - s.refused).c_str(), share(s.turned_within, s.found).c_str(),
              share(s.ends_within, s.ends).c_str(),
              share(s.says_blind, s.scenes - s.refused).c_str());
}

template <class Of>
void print_bins(const char* what, const std::vector<GrooveFate>& all, std::vector<double> limits,
                Of of) {
  std::printf("\n| %s | scratches | found |\n|---|---|---|\n", what);
  for (std::size_t i = 0; i + 1 < limits.size(); ++i) {
    int count = 0, found = 0;
    for (const GrooveFate& groove : all) {
      if (of(groove) < limits[i] || of(groove) >= limits[i + 1]) continue;
      ++count, found += groove.found ? 1 : 0;
    }
    std::printf("| %.2f to %.2f | %d | %s |\n", limits[i], limits[i + 1], count,
                share(found, count).c_str());
  }
}

void draw(int number, const std::filesystem::path& folder, const FinishWish& wish) {
  std::filesystem::create_directories(folder);
  const FinishTrial trial = evenbevel::test::run_finish_trial(kSeeds, number, wish);
  for (std::size_t i = 0; i < trial.pictures.size(); ++i) {
    cv::imwrite((folder / (std::to_string(i) + ".png")).string(), trial.pictures[i].photo.pixels);
  }
  print_trial("picture", trial);
  if (trial.refused) return;
  for (std::size_t i = 0; i < trial.grooves.size(); ++i) {
    const auto& groove = trial.face.grooves[i];
    const GrooveFate& fate = trial.grooves[i];
    std::printf(
        "%s (%.1f, %.1f) to (%.1f, %.1f), %.0f deg, width %.2f px, contrast %.2f, turn %.1f, ends "
        "%.2f\n",
        fate.found ? "found " : "missed", groove.from_mm.x(), groove.from_mm.y(), groove.to_mm.x(),
        groove.to_mm.y(), groove.direction_rad() * 57.2958, fate.width_px, fate.contrast,
        fate.direction_error_deg, fate.ends_error_mm.value_or(-1.0));
  }
  for (const auto& found : trial.result.faces.front().scratches) {
    std::printf(
        "(%.1f, %.1f) to (%.1f, %.1f), %.0f deg, %.1f over noise, photo %d, px (%.0f, %.0f)\n",
        found.from_mm.x(), found.from_mm.y(), found.to_mm.x(), found.to_mm.y(),
        found.direction_rad * 57.2958, found.over_noise, found.lamp, found.from_px.x(),
        found.from_px.y());
  }
}

/// Two at a time: drawing takes most of it.
std::vector<FinishTrial> trials(const char* seeds, int first, int scenes, const FinishWish& wish) {
  std::vector<FinishTrial> all;
  for (int number = first; number < first + scenes; number += 2) {
    std::future<FinishTrial> other;
    if (number + 1 < first + scenes) {
      other = std::async(std::launch::async, [=, &wish] {
        return evenbevel::test::run_finish_trial(seeds, number + 1, wish);
      });
    }
    all.push_back(evenbevel::test::run_finish_trial(seeds, number, wish));
    if (other.valid()) all.push_back(other.get());
    for (FinishTrial& trial : all) trial.pictures.clear();
  }
  return all;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc > 3 && std::strcmp(argv[1], "--picture") == 0) {
    const int kind = argc > 4 ? std::atoi(argv[4]) : 0;
    draw(std::atoi(argv[2]), argv[3], kinds()[static_cast<std::size_t>(kind)].wish);
    return 0;
  }
  const int scenes = argc > 1 ? std::atoi(argv[1]) : 20;
  const int first = argc > 2 ? std::atoi(argv[2]) : 1000;
  const std::string only = argc > 3 ? argv[3] : "";
  const char* seeds = argc > 4 ? argv[4] : kSeeds;
  std::printf("# How good the finish view is\n\n`bench_finish_scenes");
  for (int i = 1; i < argc; ++i) std::printf(" %s", argv[i]);
  std::printf("`\n\n");
  std::printf(
      "| scenes of | scenes | refused | scratches | found | false ones in cm2 | interval "
      "holds the count | direction within 3 deg | ends within 0.3 mm | says which "
      "directions it could not see |\n|---|---|---|---|---|---|---|---|---|---|\n");
  std::vector<GrooveFate> all;
  for (const Kind& kind : kinds()) {
    if (!only.empty() && only != kind.name) continue;
    Sums sums;
    for (const FinishTrial& trial : trials(seeds, first, scenes, kind.wish)) {
      print_trial(kind.name, trial);
      add(trial, sums);
      if (kind.wish.lamps == 4) all.insert(all.end(), trial.grooves.begin(), trial.grooves.end());
    }
    print_row(kind.name, sums);
  }
  std::printf("\nFour lamps, all scenes:\n");
  print_bins("width, px", all, {0.2, 0.35, 0.5, 0.75, 1.0, 1.5, 2.6},
             [](const GrooveFate& groove) { return groove.width_px; });
  print_bins("contrast in the best photo", all, {0.15, 0.3, 0.6, 1.0, 2.0, 3.1},
             [](const GrooveFate& groove) { return groove.contrast; });
  print_bins("width times contrast, px", all, {0.05, 0.2, 0.4, 0.7, 1.2, 2.5, 8.0},
             [](const GrooveFate& groove) { return groove.width_px * groove.contrast; });
  print_bins("crossing the lay, deg", all, {20.0, 25.0, 30.0, 45.0, 60.0, 91.0},
             [](const GrooveFate& groove) { return groove.cross_deg; });
  print_bins("length, mm", all, {3.0, 4.0, 6.0, 9.0, 14.1},
             [](const GrooveFate& groove) { return groove.length_mm; });
}
