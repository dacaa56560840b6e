// Whole photos: what a refused one is told, and one read against its truth.

#include <random>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "choil_scene.hpp"
#include "evenbevel/choil_view.hpp"
#include "evenbevel/error.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

/// A scene of the random ones, without the rest of its luck: 16 px/mm, no noise to speak of.
ChoilScene plain_scene() {
  std::mt19937_64 rng = seeded("ChoilPlain", 0);
  ChoilScene scene = random_choil_scene(rng).scene;
  scene.paints = ChoilPaints{};
  return scene;
}

Photo picture_of(const ChoilScene& scene, const Imaging& imaging) {
  std::mt19937_64 rng = seeded("ChoilPicture", 0);
  Photo photo;
  photo.name = "section";
  photo.pixels = take_picture(render_choil(scene), imaging, rng);
  return photo;
}

std::string refusal(const Photo& photo, const CameraModel& camera) {
  try {
    choil_view(photo, camera, {});
  } catch (const Error& e) {
    return e.what();
  }
  return "measured";
}

TEST(ChoilViewBadInput, NothingInTheCutOutOfRandomScenes) {
  ChoilScene scene = plain_scene();
  scene.blade = false;
  EXPECT_THAT(refusal(picture_of(scene, {}), scene.camera),
              testing::HasSubstr("no blade was found in the cut-out"));
}

TEST(ChoilViewBadInput, ADarkCutOutOfRandomScenes) {
  ChoilScene scene = plain_scene();
  scene.blade = false;
  scene.paints.paper = 0.02;
  EXPECT_THAT(refusal(picture_of(scene, {}), scene.camera),
              testing::HasSubstr("the cut-out of the heel card is dark"));
}

TEST(ChoilViewBadInput, AThicknessInInchesOfRandomScenes) {
  const ChoilScene scene = plain_scene();
  const Photo photo = picture_of(scene, {});
  ChoilSettings settings;
  settings.thickness_mm = scene.section.thickness_mm;
  EXPECT_NO_THROW(choil_view(photo, scene.camera, settings));
  settings.thickness_mm = 1.1 * scene.section.thickness_mm;
  EXPECT_THROW(choil_view(photo, scene.camera, settings), Error);
}

}  // namespace
}  // namespace evenbevel::test
