#include <algorithm>
#include <array>
#include <cmath>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "evenbevel/measure.hpp"
#include "evenbevel/units.hpp"
#include "scratch_folder.hpp"
#include "seeded.hpp"
#include "trial.hpp"

namespace evenbevel::test {
namespace {

constexpr const char* kSuite = "FinishViewScenes";  // The bench has other scenes.

int found_of(const FinishTrial& trial) {
  return static_cast<int>(std::count_if(trial.grooves.begin(), trial.grooves.end(),
                                        [](const GrooveFate& groove) { return groove.found; }));
}

TEST(FinishViewProperty, FourLampsFindMostScratches) {
  int all = 0, found = 0, turned = 0;
  for (int number = 0; number < 2; ++number) {
    const FinishTrial trial = run_finish_trial(kSuite, number, {});
    ASSERT_FALSE(trial.refused) << *trial.refused;
    all += static_cast<int>(trial.grooves.size()), found += found_of(trial);
    for (const GrooveFate& groove : trial.grooves) {
      turned += groove.found && std::abs(groove.direction_error_deg) > 3.0 ? 1 : 0;
    }
    for (const double error : trial.lamp_error_deg) EXPECT_LT(std::abs(error), 5.0);
    ASSERT_TRUE(trial.lay_error_deg);
    EXPECT_LT(*trial.lay_error_deg, 10.0);
    // Lamps up to 8 degrees off their places leave narrow gaps between them.
    double blind = 0.0;
    for (const DirectionRange& range : trial.result.faces.front().blind) {
      blind += range.to_rad - range.from_rad;
    }
    EXPECT_LT(blind, radians(40.0));
  }
  // bench_finish_scenes prints the share over many scenes; so few scatter about it.
  EXPECT_GE(found, 3 * all / 4);
  EXPECT_LE(turned, found / 10);
}

std::vector<FinishPhoto> photos_of(const FinishTrial& trial) {
  std::vector<FinishPhoto> photos;
  for (const SidePicture& picture : trial.pictures) {
    photos.push_back({trial.face.face, &picture.photo, &picture.camera});
  }
  return photos;
}

/// The first scene of that face from a number on.
FinishTrial trial_of(Face face, int number) {
  for (;; ++number) {
    FinishTrial trial = run_finish_trial(kSuite, number, {.grooves = 8, .lamps = 1});
    if (trial.face.face == face && !trial.refused) return trial;
  }
}

// As each face by itself: no photo of one is looked for on the other.
TEST(FinishViewProperty, BothFacesStandInOneReport) {
  const std::array<FinishTrial, 2> trials = {trial_of(Face::left, 40), trial_of(Face::right, 40)};
  std::vector<FaceToMeasure> photos;
  for (const FinishTrial& trial : {trials[1], trials[0]}) {
    for (const FinishPhoto& photo : photos_of(trial)) {
      photos.push_back({photo.face, *photo.photo, {.model = *photo.camera}});
    }
  }
  const ScratchFolder folder;
  const Written both =
      measure_finish(photos, {}, {.tolerance_per_cm2 = 0.01}, (folder / "both").string());
  EXPECT_EQ(both.verdict, Verdict::outside);
  const nlohmann::json report = nlohmann::json::parse(file_text(folder / "both/report.json"));
  for (const FinishTrial& trial : trials) {
    const std::string face(name(trial.face.face));
    const FinishResult alone = finish_view(photos_of(trial), {});
    EXPECT_EQ(report.at("quantities").at("scratches_" + face).at("count"),
              alone.faces.front().density.count);
    EXPECT_GT(alone.faces.front().density.count, 2) << face;
    EXPECT_NE(statement_text(both.statement, LengthUnit::mm).find("scratches a cm2, " + face),
              std::string::npos);
    EXPECT_NE(file_text(folder / "both/report.html").find(face + " face"), std::string::npos);
  }
  EXPECT_EQ(report.at("input").size(), 2U);
}

TEST(FinishViewProperty, APartLeftOutIsNotCounted) {
  const FinishTrial trial = run_finish_trial(kSuite, 20, {.lamps = 1});
  ASSERT_FALSE(trial.refused) << *trial.refused;
  const FinishFaceResult& whole = trial.result.faces.front();
  ASSERT_GT(whole.scratches.size(), 3U);
  const FoundScratch& mark = whole.scratches.front();  // As an etched logo's.
  const FacePart part{std::min(mark.from_mm.x(), mark.to_mm.x()) - 1.0,
                      std::max(mark.from_mm.x(), mark.to_mm.x()) + 1.0, mark.from_mm.y() - 1.0,
                      mark.to_mm.y() + 1.0};
  const FinishResult result = finish_view(
      photos_of(trial), {.thickness_mm = trial.face.blade.thickness_mm, .left_out = {part}});
  const FinishFaceResult& rest = result.faces.front();
  EXPECT_LT(rest.density.area_cm2, whole.density.area_cm2);
  EXPECT_LT(rest.scratches.size(), whole.scratches.size());
  for (const FoundScratch& scratch : rest.scratches) {
    const Eigen::Vector2d middle = 0.5 * (scratch.from_mm + scratch.to_mm);
    EXPECT_FALSE(middle.x() > part.from_x_mm && middle.x() < part.to_x_mm &&
                 middle.y() > part.from_z_mm && middle.y() < part.to_z_mm);
  }
}

/// Upright grooves in pairs, three millimetres apart and a little more and less.
FinishFace face_with_pairs() {
  FinishFace face;
  face.bevel.direction_rad = face.flat.direction_rad = 0.1;
  face.bevel.contrast = face.flat.contrast = 0.05;
  for (const double x : {15.0, 27.0, 39.0, 51.0}) {
    const double apart = 2.4 + 0.025 * (x - 15.0);
    for (const double at : {x, x + apart}) {
      face.grooves.push_back(
          {.from_mm = {at, 6.0}, .to_mm = {at, 16.0}, .width_mm = 0.3, .depth_mm = 0.06});
      face.grooves.back().shine = 6.0;
    }
  }
  return face;
}

TEST(FinishViewProperty, NothingMidwayBetweenTwoBrightScratches) {
  const FinishFace face = face_with_pairs();
  std::mt19937_64 rng = seeded(kSuite, 30);
  const SidePicture picture =
      take_finish_photo(face, {.azimuth_rad = 0.0}, {.distance_mm = 310.0}, Imaging{}, 1.0, rng);
  const FinishResult result =
      finish_view(std::vector<FinishPhoto>{{face.face, &picture.photo, &picture.camera}},
                  {.thickness_mm = face.blade.thickness_mm});
  int upright = 0;
  for (const FoundScratch& scratch : result.faces.front().scratches) {
    const double x = 0.5 * (scratch.from_mm + scratch.to_mm).x() + face.blade.handle_x_mm;
    if (x < 12.0 || x > 57.0) continue;
    ++upright;
    const bool true_one = std::ranges::any_of(
        face.grooves, [&](const Groove& groove) { return std::abs(groove.from_mm.x() - x) < 0.4; });
    EXPECT_TRUE(true_one) << x;
  }
  EXPECT_GE(upright, 6);
}

TEST(FinishViewProperty, OneLampAlongTheScratchesSaysThatItIsBlind) {
  const FinishTrial trial = run_finish_trial(kSuite, 10, {.lamps = 1, .lamp_along = true});
  ASSERT_FALSE(trial.refused) << *trial.refused;
  const FinishFaceResult& face = trial.result.faces.front();
  const double direction = trial.face.grooves.front().direction_rad();
  const auto within = [&](const DirectionRange& range) {
    const double width = range.to_rad - range.from_rad;
    return axis_of(direction - range.from_rad) <= width;
  };
  EXPECT_TRUE(std::any_of(face.blind.begin(), face.blind.end(), within));
  EXPECT_FALSE(trial.result.advice.empty());
}

}  // namespace
}  // namespace evenbevel::test
