// Which borders are the blade's, where one cue alone tells and the others say nothing or mislead.

#include "edge_view/anatomy.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>
#include <vector>

#include <gtest/gtest.h>

#include "edge_view/blade.hpp"
#include "edge_view/lane_picture.hpp"
#include "evenbevel/card.hpp"
#include "evenbevel/edge_view.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/photo.hpp"
#include "evenbevel/words.hpp"
#include "imaging.hpp"
#include "random_scene.hpp"
#include "render.hpp"
#include "scene.hpp"
#include "seeded.hpp"
#include "trial.hpp"

namespace evenbevel::test {
namespace {

struct Shot {
  EdgeScene scene;
  Photo photo;
  EdgeSettings settings;
};

Shot shot_of(EdgeScene scene, std::mt19937_64& rng) {
  Shot shot{.scene = std::move(scene), .photo = {}, .settings = {}};
  shot.scene.set_up.print_along = shot.scene.set_up.print_across = 1.0;
  shot.photo.pixels = take_picture(render_light(shot.scene, {.cheap = true}), Imaging{}, rng);
  shot.settings.thickness_mm = shot.scene.blade.thickness_mm;
  shot.settings.tip = shot.scene.set_up.tip_left ? Tip::left : Tip::right;
  return shot;
}

/// The lane of a photo, and what borders are sought in it.
struct Lane {
  edge::LanePicture picture;
  edge::FlatsSearch search;

  std::vector<edge::Located> places() const {
    constexpr double kLeastMm = 7.0;
    return edge::locate(picture.image, picture.on_lane, picture.stretch_mm, search, kLeastMm);
  }
};

Lane lane_of(const Shot& shot) {
  const FoundCard card = require_card(grey8(shot.photo.pixels), CardKind::edge, 16);
  const SeenCard seen = see_card(card, shot.scene.camera, shot.settings.print);
  edge::LanePicture picture = edge::lane_picture(shot.photo, seen.camera, seen.pose, shot.settings);
  edge::look_at_card(picture, shot.photo, seen.camera, seen.pose);
  edge::FlatsSearch search = edge::flats_search(picture, seen.camera, seen.pose, shot.settings);
  return {std::move(picture), std::move(search)};
}

/// The place as it would be had a border that runs aslant, a jaw's, laid the frame.
edge::Located laid_askew(const Lane& lane, const edge::Located& place, double by_rad) {
  const double half = 0.5 * place.flats.width_mm(0.0);
  edge::Located askew = edge::laid_along(
      lane.picture.image, place, {place.flats.mid_mm(0.0), by_rad}, lane.picture.stretch_mm);
  const double mid = askew.flats.mid_mm(0.0);
  askew.flats.high = {mid + half, 0.0};
  askew.flats.low = {mid - half, 0.0};
  return askew;
}

/// Of the blade on the card.
double slope_of(const EdgeScene& scene) {
  const Eigen::Vector3d along =
      card_from_blade(scene.set_up).matrix.linear() * Eigen::Vector3d::UnitX();
  return along.y() / along.x();
}

// Rims are sought along their frame, to within a thousandth or so.
TEST(AnatomyProperty, AGroundEdgeIsLookedAtAlongItselfWhateverLaidTheFrame) {
  int seen = 0;
  for (int number = 0; number < 4; ++number) {
    SCOPED_TRACE(number);
    std::mt19937_64 rng = seeded("Anatomy", number);
    const Shot shot = shot_of(random_edge_scene(SceneStage::ground, rng), rng);
    const Lane lane = lane_of(shot);
    std::vector<edge::Located> places = lane.places();
    if (places.empty()) continue;
    for (edge::Located& place : places)
      place = laid_askew(lane, place, number % 2 ? 0.007 : -0.007);
    EdgeSettings settings = shot.settings;
    settings.stage = Stage::ground;
    std::optional<edge::Anatomy> anatomy;
    try {
      anatomy = edge::find_anatomy(lane.picture.image, places, lane.picture.stretch_mm, lane.search,
                                   settings, lane.picture.look->blur_px, true);
    } catch (const Error&) {
      continue;  // Two pairs of borders: says nothing of the frame.
    }
    if (!anatomy) continue;
    ++seen;
    EXPECT_NEAR(std::tan(anatomy->at.frame.direction_rad()), slope_of(shot.scene), 0.002);
  }
  EXPECT_GE(seen, 2);
}

/// A hard scene, told where its tip is: the mean offset's error over its U95.
double error_over_U95(SceneStage stage, LightKind light, int number) {
  TrialPhoto trial = adverse_photo(stage, light, number);
  trial.settings.tip = trial.scene.set_up.tip_left ? Tip::left : Tip::right;
  const EdgeResult result = edge_view(trial.photo, trial.camera_file, trial.settings);
  double truth = 0.0, count = 0.0;
  for (const EdgeStation& station : result.stations) {
    if (!station.centreline_offset_mm) continue;
    truth += truth_nearest(trial.scene, station.px).offset_mm;
    count += 1.0;
  }
  const Measured mean = result.centreline_offset_mm.value();
  return (mean.value - truth / count) / U95(mean);
}

// Dye in its own colour about as bright as what lies beside it, on a face with streaks as plain as
// its rims: the colour alone shows where it ends. All were refused while borders had to tell.
TEST(AnatomyProperty, DyedFacesAreFoundByTheirColour) {
  EXPECT_LT(std::abs(error_over_U95(SceneStage::scribed_dye, LightKind::soft, 25104)), 1.0);
  EXPECT_LT(std::abs(error_over_U95(SceneStage::scribed_dye, LightKind::window, 26021)), 1.0);
  EXPECT_LT(std::abs(error_over_U95(SceneStage::scribed_dye, LightKind::bulb, 26090)), 1.0);
}

// Facets and ricasso of nearly one light and one texture: only outlines show where a ground edge
// ends.
TEST(AnatomyProperty, OutlinesAloneTellWhereAGroundEdgeEnds) {
  EXPECT_LT(std::abs(error_over_U95(SceneStage::ground, LightKind::soft, 25058)), 1.0);
}

// A full bevel under one bulb beside which a jaw's shade passes for a facet's rim. Read as a ground
// edge it is off by 0.11 mm; then the interval must hold that, and the maker is asked.
TEST(AnatomyProperty, RimsThatDoNotGoTogetherWidenTheIntervalAndAskForTheStage) {
  TrialPhoto trial = adverse_photo(SceneStage::bevelled, LightKind::bulb, 24010);
  const auto doubts = [](const EdgeResult& result) {
    return std::ranges::count(result.warnings, RemarkCode::stage_doubted, &Remark::code);
  };
  const EdgeResult unsaid = edge_view(trial.photo, trial.camera_file, trial.settings);
  ASSERT_TRUE(unsaid.centreline_offset_mm);
  const double truth = truth_nearest(trial.scene, unsaid.stations.front().px).offset_mm;
  if (unsaid.stage == Stage::ground) {
    EXPECT_EQ(doubts(unsaid), 1);
    EXPECT_GT(U95(*unsaid.centreline_offset_mm), 0.1);
  }
  EXPECT_LT(std::abs(unsaid.centreline_offset_mm->value - truth),
            U95(*unsaid.centreline_offset_mm));
  trial.settings.stage = Stage::bevelled;
  EXPECT_EQ(doubts(edge_view(trial.photo, trial.camera_file, trial.settings)), 0);
}

}  // namespace
}  // namespace evenbevel::test
