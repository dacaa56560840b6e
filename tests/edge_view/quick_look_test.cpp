// The quick look without a card: what it cannot know must be in its interval.

#include <cmath>
#include <string>
#include <vector>

#include <gtest/gtest.h>
#include <opencv2/imgproc.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/photo.hpp"
#include "imaging.hpp"
#include "random_scene.hpp"
#include "render.hpp"
#include "seeded.hpp"
#include "trial.hpp"

namespace evenbevel::test {
namespace {

// Truth: scenes of tests/support, drawn and photographed without any of the measuring code; camera
// up to 10 degrees beside the edge, with and without a card in the picture. Readings of one photo
// share most of their errors, so 90 % where 95 % is claimed.
TEST(QuickLookProperty, IntervalsHoldTheTruthOrThePhotoIsRefused) {
  std::vector<Trial> quick, quick_beside_card, card;
  for (const SceneStage stage : {SceneStage::scribed_dye, SceneStage::scribed_bare,
                                 SceneStage::ground, SceneStage::bevelled}) {
    for (int number = 0; number < 3; ++number) {
      QuickLookTrial trial = run_quick_look_trial(stage, number);
      if (trial.with_card && trial.with_card->refused.empty() &&
          trial.without_card.refused.empty()) {
        quick_beside_card.push_back(trial.without_card);
        card.push_back(*trial.with_card);
      }
      quick.push_back(std::move(trial.without_card));
    }
  }
  const Tally all = tally(quick, Quantity::offset);
  EXPECT_LE(2 * all.refused, all.trials);
  EXPECT_GE(all.held, 0.90);
  ASSERT_FALSE(card.empty());
  for (std::size_t i = 0; i < card.size(); ++i) {
    EXPECT_GT(tally({quick_beside_card[i]}, Quantity::offset).median_u95,
              tally({card[i]}, Quantity::offset).median_u95);
  }
}

EdgeResult look_at_sample(double focal_factor) {
  const std::string source = SOURCE_FOLDER;
  const Photo photo = read_photo(source + "/sample-images/edge-ground-offcentre.jpg");
  CameraModel camera = guess_camera(photo);
  camera.focal_px *= focal_factor;
  EdgeSettings settings;
  settings.thickness_mm = 3.4;
  settings.card = false;
  return edge_view(photo, camera, settings);
}

// The thickness is the ruler: a lens a fifth longer puts the blade a fifth farther away and leaves
// everything across it where it was (similar triangles).
TEST(QuickLookClosedForm, TheFocalLengthHardlyMattersForTheOffset) {
  const EdgeResult usual = look_at_sample(1.0), longer = look_at_sample(1.2);
  EXPECT_NEAR(longer.camera_distance_mm / usual.camera_distance_mm, 1.2, 0.02);
  ASSERT_TRUE(usual.centreline_offset_mm && longer.centreline_offset_mm);
  EXPECT_NEAR(longer.centreline_offset_mm->value, usual.centreline_offset_mm->value, 0.005);
}

// Facets 1.6 mm deep and a camera that may stand 10 degrees to either side: the interval must
// cover 1.6 mm tan(10 deg) / sqrt(3) as a standard uncertainty (JCGM 100, 4.3.7).
TEST(QuickLookClosedForm, TheParallaxOfAGroundEdgeIsInTheBudget) {
  const EdgeResult result = look_at_sample(1.0);
  double u_parallax = 0.0;
  for (const BudgetLine& line : result.centreline_offset_mm.value().budget) {
    if (line.cause == "parallax") u_parallax = line.u;
  }
  EXPECT_NEAR(u_parallax, 1.6 * std::tan(0.17453) / std::sqrt(3.0), 0.015);
  EXPECT_FALSE(result.pose);
}

// Nothing printed tells how sharp the photo is: the blade's own borders must.
TEST(QuickLookBadInput, ABlurredPhotoIsRefusedOrItsIntervalIsWider) {
  const std::string source = SOURCE_FOLDER;
  const Photo sharp = read_photo(source + "/sample-images/edge-scribed-bare.jpg");
  EdgeSettings settings;
  settings.thickness_mm = 3.0;
  settings.card = false;
  const EdgeResult best = edge_view(sharp, guess_camera(sharp), settings);
  ASSERT_TRUE(best.centreline_offset_mm);
  for (const double blur_px : {1.5, 3.5, 7.0}) {
    Photo blurred = sharp;
    cv::GaussianBlur(sharp.pixels, blurred.pixels, {0, 0}, blur_px);
    try {
      const EdgeResult result = edge_view(blurred, guess_camera(blurred), settings);
      ASSERT_TRUE(result.centreline_offset_mm);
      EXPECT_GT(result.centreline_offset_mm->u, best.centreline_offset_mm->u) << blur_px;
    } catch (const Error& refused) {
      EXPECT_FALSE(refused.do_next().empty());
    }
  }
}

/// The rims show by nothing but a dark line in the gap beside them.
EdgeScene scene_with_jaws_alike(std::mt19937_64& rng) {
  EdgeScene scene = random_edge_scene(SceneStage::scribed_bare, rng);
  scene.lighting.reset();  // every surface has its paint's level
  Paints& paints = scene.paints;
  for (Paint* paint : {&paints.jaw, &paints.gap, &paints.flat_left, &paints.flat_right,
                       &paints.chamfer_left, &paints.chamfer_right}) {
    *paint = paints.face;
  }
  scene.set_up.tip_left = false;
  return scene;
}

TEST(QuickLookBadInput, JawsThatLookLikeTheBladeAreRefusedOrHeldByAWideInterval) {
  for (int number = 0; number < 2; ++number) {
    std::mt19937_64 rng = seeded("QuickLookAlike", number);
    const EdgeScene scene = scene_with_jaws_alike(rng);
    Photo photo;
    photo.name = "alike";
    photo.pixels = take_picture(render_light(scene, {.cheap = true}), random_imaging(rng), rng);
    EdgeSettings settings;
    settings.thickness_mm = scene.blade.thickness_mm;
    settings.card = false;
    settings.tip = truth_at(scene, 50.0).middle_px.x() > truth_at(scene, 0.0).middle_px.x()
                       ? Tip::right
                       : Tip::left;
    try {
      const EdgeResult result = edge_view(photo, scene.camera, settings);
      for (const EdgeStation& station : result.stations) {
        if (!station.centreline_offset_mm) continue;
        const Measured& offset = *station.centreline_offset_mm;
        EXPECT_NEAR(offset.value, truth_nearest(scene, station.px).offset_mm, U95(offset));
        EXPECT_GT(U95(offset), 0.05);
      }
    } catch (const Error& refused) {
      EXPECT_FALSE(refused.do_next().empty());
    }
  }
}

}  // namespace
}  // namespace evenbevel::test
