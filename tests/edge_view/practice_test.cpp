// The practice strip, drawn from the numbers on its page: what is read back, and how well the
// intervals hold what is printed.

#include <cmath>
#include <fstream>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "evenbevel/camera.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/practice_view.hpp"
#include "practice_scene.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

using enum PracticeCheckKind;

constexpr PracticeCheckKind kKinds[] = {offset_handle, offset_middle, offset_tip,
                                        rim_distance,  line_gap,      plunge_mismatch};

PrintScale true_bar(const PracticeScene& scene) {
  return {.along = scene.print_along, .across = scene.print_across, .u = 0.0005, .measured = true};
}

// Against what the page says, on a page of that size.
double printed_on(PracticeCheckKind kind, const PracticeScene& scene) {
  switch (kind) {
    case offset_handle:
      return 0.1 * scene.print_across;
    case offset_tip:
      return -0.1 * scene.print_across;
    case rim_distance:
      return 3.2 * scene.print_across;
    case line_gap:
      return 0.5 * scene.print_across;
    case plunge_mismatch:
      return 0.6 * scene.print_along;
    default:
      return 0.0;
  }
}

TEST(PracticeViewProperty, ItsIntervalsHoldThePagesOfRandomScenes) {
  constexpr int kPages = 6;
  int inside = 0, all = 0, stations = 0, stations_inside = 0;
  for (int number = 0; number < kPages; ++number) {
    std::mt19937_64 rng = seeded("Practice", number);
    const PracticeScene scene = random_practice_scene(rng);
    const Photo photo = practice_photo(scene, random_practice_imaging(rng), rng);
    const PracticeResult result = practice_view(photo, scene.camera, {.print = true_bar(scene)});
    for (const PracticeCheckKind kind : kKinds) {
      const PracticeCheck* check = find(result.checks, kind);
      ASSERT_NE(check, nullptr) << number << ' ' << static_cast<int>(kind);
      EXPECT_NEAR(check->printed_mm, printed_on(kind, scene), 1e-9);
      const bool offset = kind <= offset_tip;
      EXPECT_LT(std::abs(check->difference_mm()), offset ? 0.012 : 0.035)
          << number << ' ' << static_cast<int>(kind);
      EXPECT_LT(U95(check->measured_mm), offset ? 0.030 : 0.12);
      inside += check->inside() ? 1 : 0;
      ++all;
    }
    stations += result.stations;
    stations_inside += result.stations_inside;
    EXPECT_FALSE(result.paper_is_bent()) << number << ": " << result.bend_mm;
  }
  EXPECT_GE(inside, 0.95 * all);
  EXPECT_GE(stations_inside, 0.95 * stations);
}

PracticeScene plain_scene() {
  std::mt19937_64 rng = seeded("PracticePlain", 0);
  PracticeScene scene = random_practice_scene(rng);
  scene.print_along = scene.print_across = 1.0;
  scene.bow_mm = 0.0;
  return scene;
}

PracticeResult read_strip_of(const PracticeScene& scene, const PrintScale& print = {}) {
  std::mt19937_64 rng = seeded("PracticePlain", 1);
  const Photo photo = practice_photo(scene, {.jpeg = 90}, rng);
  return practice_view(photo, scene.camera, {.print = print});
}

// A chain that is wrong must not hold: here the page is, by 0.06 mm at either end.
TEST(PracticeViewProperty, APageWithOtherNumbersIsToldApart) {
  PracticeScene scene = plain_scene();
  scene.offset_end_mm = 0.16;
  const PracticeResult result = read_strip_of(scene);
  EXPECT_FALSE(result.holds());
  EXPECT_FALSE(find(result.checks, offset_handle)->inside());
  EXPECT_FALSE(find(result.checks, offset_tip)->inside());
  EXPECT_TRUE(find(result.checks, offset_middle)->inside());
  EXPECT_NEAR(find(result.checks, offset_handle)->difference_mm(), 0.06, 0.01);
  EXPECT_LT(result.stations_inside, 0.6 * result.stations);
}

TEST(PracticeViewProperty, InkThatSpreadsMovesWidthsAndNotOffsets) {
  PracticeScene scene = plain_scene();
  scene.ink_mm = 0.04;  // rims 0.08 mm nearer to each other
  const PracticeResult result = read_strip_of(scene);
  EXPECT_NEAR(find(result.checks, rim_distance)->difference_mm(), -0.08, 0.02);
  EXPECT_FALSE(find(result.checks, rim_distance)->inside());
  for (const PracticeCheckKind kind : {offset_handle, offset_middle, offset_tip, line_gap}) {
    EXPECT_TRUE(find(result.checks, kind)->inside()) << static_cast<int>(kind);
  }
}

// A page printed small shrinks strip and pattern alike: only the bar tells.
TEST(PracticeViewClosedForm, ASmallPageShowsOnlyByItsBar) {
  PracticeScene scene = plain_scene();
  scene.print_along = scene.print_across = 0.99;
  const PracticeResult unaware = read_strip_of(scene);
  EXPECT_TRUE(unaware.holds());
  EXPECT_EQ(find(unaware.checks, printed_bar), nullptr);
  const PracticeResult told = read_strip_of(scene, true_bar(scene));
  EXPECT_FALSE(told.holds());
  EXPECT_NEAR(told.print_off_percent, -1.0, 1e-9);
  EXPECT_FALSE(find(told.checks, printed_bar)->inside());
  EXPECT_NEAR(find(told.checks, rim_distance)->printed_mm, 3.168, 1e-9);
  EXPECT_TRUE(find(told.checks, rim_distance)->inside());
}

TEST(PracticeViewBadInput, APlainEdgeCardIsNoPracticeStrip) {
  const Photo photo = read_photo(SOURCE_FOLDER "/sample-images/edge-usb.jpg");
  const CameraModel camera = read_camera_file(SOURCE_FOLDER "/calibration/sample-usb.yml");
  try {
    practice_view(photo, camera, {});
    FAIL() << "was measured";
  } catch (const Error& e) {
    EXPECT_THAT(e.what(), testing::HasSubstr("no practice strip"));
    EXPECT_THAT(e.do_next(), testing::HasSubstr("--thickness"));
  }
}

// ---- the sample photos ----

struct Sample {
  PracticeResult result;
  nlohmann::json truth;
};

Sample sample(const std::string& name, const PrintScale& print) {
  const std::string path = SOURCE_FOLDER "/sample-images/" + name;
  const CameraModel camera = read_camera_file(SOURCE_FOLDER "/calibration/sample-phone.yml");
  std::ifstream truth(path + ".json");
  return {practice_view(read_photo(path + ".jpg"), camera, {.print = print}),
          nlohmann::json::parse(truth)};
}

constexpr const char* kTruthNames[] = {"offset_handle", "offset_middle", "offset_tip",
                                       "rim_distance",  "line_gap",      "plunge_mismatch"};

void expect_near_truth(const Sample& sample, double most_off_mm) {
  for (std::size_t i = 0; i < std::size(kKinds); ++i) {
    const PracticeCheck* check = find(sample.result.checks, kKinds[i]);
    ASSERT_NE(check, nullptr) << kTruthNames[i];
    const double truth = sample.truth.at("on_this_print_mm").at(kTruthNames[i]);
    EXPECT_NEAR(check->printed_mm, truth, 1e-6) << kTruthNames[i];
    EXPECT_NEAR(check->measured_mm.value, truth, most_off_mm) << kTruthNames[i];
    EXPECT_TRUE(check->inside()) << kTruthNames[i];
  }
}

TEST(PracticeViewPhotos, TheTrueOneHolds) {
  const Sample truly = sample("practice-true", {.u = 0.0005, .measured = true});
  expect_near_truth(truly, 0.02);
  EXPECT_TRUE(truly.result.holds());
}

TEST(PracticeViewPhotos, TheSmallAndBentOneIsBentAndSmall) {
  const Sample small =
      sample("practice-small-bent", {.along = 0.99, .across = 0.99, .u = 0.0005, .measured = true});
  EXPECT_FALSE(small.result.holds());
  EXPECT_TRUE(small.result.paper_is_bent());
  EXPECT_NEAR(small.result.bend_mm, 0.4, 0.15);
  EXPECT_FALSE(find(small.result.checks, printed_bar)->inside());
  for (const PracticeCheckKind kind : {offset_handle, offset_middle, offset_tip}) {
    EXPECT_TRUE(find(small.result.checks, kind)->inside());
  }
}

}  // namespace
}  // namespace evenbevel::test
