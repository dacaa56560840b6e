#include "card/print_look.hpp"

#include <gtest/gtest.h>

#include "card_photo.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

using test::CardScene;
using test::Imaging;

PrintLook look_at(CardKind kind, const Imaging& imaging, int number) {
  std::mt19937_64 rng = test::seeded("PrintLook", number);
  const CardScene scene = test::random_card_scene(kind, rng);
  const cv::Mat photo = photo_of(scene, imaging, rng);
  return print_look(photo, scene.camera, scene.T_camera_card, kind, {});
}

// An unsharp mask put on the photo of a card is read from its borders; a wider mask of less amount
// does nearly the same, so that amount is known to a fifth.
TEST(PrintLookProperty, TheCamerasSharpeningIsReadFromTheCard) {
  for (const CardKind kind : {CardKind::heel, CardKind::edge}) {
    for (const double amount : {0.3, 0.6}) {
      SCOPED_TRACE(amount);
      const PrintLook look =
          look_at(kind, {.blur_px = 0.9, .sharpen = amount, .sharpen_px = 1.2}, 1);
      EXPECT_NEAR(look.sharpening.amount, amount, 0.06 + 0.2 * amount);
      EXPECT_NEAR(look.sharpening.radius_px, 1.2, 0.3);
    }
  }
}

// The blur is the lens's, whether the camera sharpened its picture or not.
TEST(PrintLookProperty, TheBlurIsThatOfThePlainPicture) {
  const PrintLook plain = look_at(CardKind::heel, {.blur_px = 0.9}, 2);
  const PrintLook sharpened =
      look_at(CardKind::heel, {.blur_px = 0.9, .sharpen = 0.6, .sharpen_px = 1.2}, 2);
  EXPECT_NEAR(plain.sharpening.amount, 0.0, 0.12);  // moves a border by less than 0.02 px
  EXPECT_GT(sharpened.sharpening.amount, 0.4);
  ASSERT_GT(plain.blur_px, 0.0);
  EXPECT_NEAR(sharpened.blur_px, plain.blur_px, 0.05 * plain.blur_px);
}

TEST(PrintLookBadInput, APictureWithoutBordersTellsNothing) {
  std::mt19937_64 rng = test::seeded("PrintLook", 3);
  const CardScene scene = test::random_card_scene(CardKind::heel, rng);
  const cv::Mat grey(scene.camera.height_px, scene.camera.width_px, CV_8UC1, cv::Scalar(120));
  const PrintLook look = print_look(grey, scene.camera, scene.T_camera_card, CardKind::heel, {});
  EXPECT_EQ(look.blur_px, 0.0);
  EXPECT_FALSE(look.sharpening.moves_borders());
}

}  // namespace
}  // namespace evenbevel
