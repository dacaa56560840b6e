#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/error.hpp"
#include "evenbevel/side_view.hpp"
#include "seeded.hpp"
#include "side_scene.hpp"

namespace evenbevel::test {
namespace {

using ::testing::HasSubstr;

const SideSettings kSettings = [] {
  SideSettings settings;
  settings.thickness_mm = 3.0;
  return settings;
}();

SidePicture picture_of(const SideBlade* blade, Face face, const SidePose& pose = {}) {
  std::mt19937_64 rng = seeded("SideBadInput", face == Face::left ? 1 : 2);
  Imaging imaging;
  imaging.blur_px = 0.9;
  return take_side_picture(blade, face, {}, pose, imaging, rng);
}

/// One plain blade, rendered once.
const SideBlade kBlade;
const SidePicture& left_picture() {
  static const SidePicture kPicture = picture_of(&kBlade, Face::left);
  return kPicture;
}
const SidePicture& right_picture() {
  static const SidePicture kPicture = picture_of(&kBlade, Face::right);
  return kPicture;
}

FacePhoto as(Face face, const SidePicture& picture) {
  return {face, &picture.photo, &picture.camera};
}

std::string refusal(const std::vector<FacePhoto>& photos,
                    const SideSettings& settings = kSettings) {
  try {
    side_view(photos, settings);
  } catch (const Error& e) {
    return std::string(e.what()) + "; " + e.do_next();
  }
  return "measured";
}

TEST(SideBadInput, NoPhoto) { EXPECT_THAT(refusal({}), HasSubstr("no photo was given")); }

TEST(SideBadInput, TwoOfOneFace) {
  EXPECT_THAT(refusal({as(Face::left, left_picture()), as(Face::left, right_picture())}),
              HasSubstr("one photo a face"));
}

TEST(SideBadInput, TheSamePhotoTwice) {
  EXPECT_THAT(refusal({as(Face::left, left_picture()), as(Face::right, left_picture())}),
              HasSubstr("the same photo was given for both faces"));
}

TEST(SideBadInput, SwappedPhotosPointTheWrongWay) {
  const std::string said =
      refusal({as(Face::left, right_picture()), as(Face::right, left_picture())});
  EXPECT_THAT(said, HasSubstr("tip points right"));
  EXPECT_THAT(said, HasSubstr("swap the photos"));
}

TEST(SideBadInput, TwoDifferentKnivesAndByHowMuch) {
  SideBlade other;
  other.belly_x_mm = 20.0;
  const SidePicture right = picture_of(&other, Face::right);
  const std::string said = refusal({as(Face::left, left_picture()), as(Face::right, right)});
  EXPECT_THAT(said, HasSubstr("two different knives"));
  EXPECT_THAT(said, HasSubstr("mm apart on average"));
}

TEST(SideBadInput, EmptyLane) {
  const SidePicture bare = picture_of(nullptr, Face::left);
  EXPECT_THAT(refusal({as(Face::left, bare)}), HasSubstr("no blade was found"));
}

TEST(SideBadInput, BladeOverTheMarkers) {
  SidePose pose;
  pose.card_y_mm = 32.0;
  const SidePicture over = picture_of(&kBlade, Face::left, pose);
  EXPECT_THAT(refusal({as(Face::left, over)}), HasSubstr("over the markers"));
}

TEST(SideBadInput, NoCard) {
  SidePicture grey = left_picture();
  grey.photo.pixels = cv::Mat(grey.photo.pixels.size(), CV_8UC3, cv::Scalar(90, 90, 90));
  EXPECT_THAT(refusal({as(Face::left, grey)}), HasSubstr("card"));
}

TEST(SideBadInput, ThicknessesThatCannotBe) {
  SideSettings settings;
  EXPECT_THAT(refusal({as(Face::left, left_picture())}, settings), HasSubstr("stock thickness"));
  settings.thickness_mm = 3.0, settings.tip_thickness_mm = 4.0;
  EXPECT_THAT(refusal({as(Face::left, left_picture())}, settings), HasSubstr("at the tip"));
  settings.tip_thickness_mm.reset(), settings.land_mm = 3.5;
  EXPECT_THAT(refusal({as(Face::left, left_picture())}, settings), HasSubstr("land"));
}

TEST(SideProperty, OneFaceAloneReportsThatFaceOnly) {
  const std::vector<FacePhoto> photos = {as(Face::right, right_picture())};
  const SideResult result = side_view(photos, kSettings);
  EXPECT_TRUE(result.bevel_height_right_mm.has_value());
  EXPECT_FALSE(result.bevel_height_left_mm.has_value());
  EXPECT_FALSE(result.bevel_height_difference_mm.has_value());
  EXPECT_FALSE(result.plunge_mismatch_mm.has_value());
  EXPECT_FALSE(result.outlines.has_value());
  EXPECT_FALSE(result.bevel_angle_right_rad.has_value());  // needs the land
  ASSERT_EQ(result.faces.size(), 1U);
  EXPECT_EQ(result.faces[0].face, Face::right);
}

}  // namespace
}  // namespace evenbevel::test
