#include "hard_scenes.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <functional>

#include <opencv2/core/utility.hpp>

namespace evenbevel::test {
namespace {

constexpr std::array<SceneStage, 4> kStages{SceneStage::scribed_dye, SceneStage::scribed_bare,
                                            SceneStage::ground, SceneStage::bevelled};
constexpr std::array<LightKind, 4> kLights{LightKind::soft, LightKind::window, LightKind::bulb,
                                           LightKind::tubes};

double share(std::size_t of, std::size_t all) {
  return all > 0 ? static_cast<double>(of) / static_cast<double>(all) : 0.0;
}

/// What belongs to a bin: a scene as a whole, and a station of it by its weaker border's contrast.
struct Bin {
  std::string title;
  std::function<bool(const HardScene&)> scene;
  std::function<bool(double)> contrast = [](double) { return true; };
};

/// The readings of a bin, and what became of its scenes.
struct BinContents {
  int scenes = 0, refused = 0, misleading = 0;
  std::size_t to_read = 0;
  std::vector<Reading> stations, means, plunges;
};

void add_stations(BinContents& contents, const Bin& bin, const Trial& trial) {
  for (const double contrast : trial.true_contrast) {
    if (bin.contrast(contrast)) ++contents.to_read;
  }
  for (const Reading& reading : trial.offset_mm) {
    if (bin.contrast(reading.contrast)) contents.stations.push_back(reading);
  }
}

void add_scene(BinContents& contents, const Trial& trial) {
  ++contents.scenes;
  if (!trial.refused.empty()) ++contents.refused;
  if (!falsehood(trial).empty()) ++contents.misleading;
  if (trial.mean_offset_mm) contents.means.push_back(*trial.mean_offset_mm);
  if (trial.plunge_mismatch_mm) contents.plunges.push_back(*trial.plunge_mismatch_mm);
}

BinContents contents_of(const Bin& bin, const std::vector<HardScene>& scenes) {
  BinContents contents;
  for (const HardScene& scene : scenes) {
    if (!bin.scene(scene)) continue;
    add_stations(contents, bin, scene.trial);
    if (bin.contrast(scene.trial.conditions.contrast)) add_scene(contents, scene.trial);
  }
  return contents;
}

std::string cells_of(const Figures& f) {
  if (f.readings == 0) return "0 | | | |";
  return cv::format("%zu | %.4f | %.1f %% | %.4f |", f.readings, f.rms, 100.0 * f.held,
                    f.median_u95);
}

void print_row(const Bin& bin, const std::vector<HardScene>& scenes) {
  const BinContents contents = contents_of(bin, scenes);
  if (contents.scenes == 0) return;
  std::printf("| %s | %d | %d | %d | %.0f %% | %s %s %s\n", bin.title.c_str(), contents.scenes,
              contents.refused, contents.misleading,
              100.0 * share(contents.stations.size(), contents.to_read),
              cells_of(figures_of(contents.stations)).c_str(),
              cells_of(figures_of(contents.means)).c_str(),
              cells_of(figures_of(contents.plunges)).c_str());
}

std::vector<Bin> kinds() {
  std::vector<Bin> bins{{"all", [](const HardScene&) { return true; }}};
  for (const SceneStage stage : kStages)
    bins.push_back({name(stage), [=](const HardScene& s) { return s.stage == stage; }});
  for (const LightKind light : kLights)
    bins.push_back({name(light), [=](const HardScene& s) { return s.light == light; }});
  for (const SceneStage stage : kStages) {
    for (const LightKind light : kLights) {
      bins.push_back({std::string(name(stage)) + ", " + name(light),
                      [=](const HardScene& s) { return s.stage == stage && s.light == light; }});
    }
  }
  return bins;
}

constexpr double kNoEnd = 1e9;

struct Range {
  double from, to;

  bool holds(double value) const { return value >= from && value < to; }
  std::string words(const char* decimals) const {
    if (to == kNoEnd) return "over " + cv::format(decimals, from);
    return cv::format(decimals, from) + " to " + cv::format(decimals, to);
  }
};

std::vector<Bin> places_and_looks() {
  std::vector<Bin> bins;
  for (const Range& r : {Range{0.0, 4.0}, Range{4.0, 8.0}, Range{8.0, kNoEnd}}) {
    bins.push_back({"camera " + r.words("%.0f") + " mm aside", [=](const HardScene& s) {
                      return r.holds(std::abs(s.trial.conditions.beside_mm));
                    }});
  }
  for (const Range& r : {Range{0.0, 12.0}, Range{12.0, 16.0}, Range{16.0, kNoEnd}}) {
    bins.push_back({r.words("%.0f") + " px/mm",
                    [=](const HardScene& s) { return r.holds(s.trial.conditions.px_per_mm); }});
  }
  for (const Range& r : {Range{0.0, 3.0}, Range{3.0, 8.0}, Range{8.0, 25.0}, Range{25.0, kNoEnd}}) {
    bins.push_back({"contrast " + r.words("%.0f") + " %", [](const HardScene&) { return true; },
                    [=](double contrast) { return r.holds(100.0 * contrast); }});
  }
  return bins;
}

std::vector<Bin> unknowns() {
  using Scene = const HardScene&;
  constexpr double kSquareRad = 0.0017;  // 0.1 degree, what the budget assumes.
  return {{"lens as in its file",
           [](Scene s) {
             return !s.trial.conditions.unknown.moved_lens && !s.trial.conditions.unknown.lens;
           }},
          {"lens moved", [](Scene s) { return s.trial.conditions.unknown.moved_lens; }},
          {"no camera file", [](Scene s) { return s.trial.conditions.unknown.lens; }},
          {"bar not measured", [](Scene s) { return s.trial.conditions.unknown.bar; }},
          {"tip not given", [](Scene s) { return s.trial.conditions.unknown.tip; }},
          {"phone's picture chain", [](Scene s) { return s.trial.conditions.phone_chain; }},
          {"jaws out of square by over 0.1 degree",
           [](Scene s) { return std::abs(s.trial.conditions.jaw_tilt_rad) > kSquareRad; }},
          {"blur over 1 px", [](Scene s) { return s.trial.conditions.blur_px > 1.0; }},
          {"noise over 1 %", [](Scene s) { return s.trial.conditions.noise > 0.01; }}};
}

}  // namespace

HardScene hard_scene(int number) {
  const auto place = static_cast<std::size_t>(number);
  return {.number = number, .stage = kStages[place % 4], .light = kLights[place / 4 % 4]};
}

const char* name(SceneStage stage) {
  switch (stage) {
    case SceneStage::scribed_dye:
      return "dye";
    case SceneStage::scribed_bare:
      return "bare";
    case SceneStage::ground:
      return "ground";
    case SceneStage::bevelled:
      return "bevelled";
  }
  return "";
}

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
  f.readings = u95.size();
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

double read_share(const Trial& trial) {
  return share(trial.offset_mm.size(), trial.true_contrast.size());
}

std::string falsehood(const Trial& trial) {
  if (!trial.refused.empty()) return {};
  std::string why;
  if (trial.wrong_tip) why += " face";
  if (trial.mean_offset_mm && !trial.mean_offset_mm->held()) why += " mean";
  const Figures f = figures_of(trial.offset_mm);
  if (f.readings > 0 && f.held < 0.9) why += " stations";
  const std::optional<Reading>& plunge = trial.plunge_mismatch_mm;
  if (plunge && std::abs(plunge->error) > 1.3 * plunge->u95) why += " plunge";
  return why;
}

void print_bins(const std::vector<HardScene>& scenes) {
  std::printf(
      "| bin | scenes | refused | misleading | read | stations | RMS mm | inside U95 | median U95 "
      "mm | means | RMS mm | inside U95 | median U95 mm | plunge mismatches | RMS mm | inside U95 "
      "| median U95 mm |\n|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|\n");
  for (const std::vector<Bin>& bins : {kinds(), places_and_looks(), unknowns()}) {
    for (const Bin& bin : bins) print_row(bin, scenes);
  }
}

}  // namespace evenbevel::test
