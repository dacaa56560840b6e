// Photos of the lens card, one after the other, and what is still empty.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/calibrate.hpp"
#include "evenbevel/photo.hpp"

namespace evenbevel {
namespace {

using testing::HasSubstr;

Photo lens_photo(const std::string& number) {
  return read_photo(std::string(SOURCE_FOLDER) + "/sample-images/lens-" + number + ".jpg");
}

TEST(CalibrationSamplePhotos, TheFirstSaysWhichCameraItIsAndOthersAreLeftOut) {
  CalibrationPhotos photos({});
  EXPECT_FALSE(photos.add("first", lens_photo("01")).left_out);
  EXPECT_EQ(photos.camera().width_px, 4032);
  EXPECT_EQ(photos.camera().identity.model, "WF-31");
  Photo no_exif = lens_photo("02");
  no_exif.camera = {};
  const BoardSighting& stranger = photos.add("no EXIF", no_exif);
  ASSERT_TRUE(stranger.left_out);
  EXPECT_THAT(stranger.left_out->reason, HasSubstr("no EXIF"));
  EXPECT_FALSE(photos.add("second", lens_photo("02")).left_out);
  EXPECT_EQ(usable_views(photos.sightings()).views.size(), 2U);
  EXPECT_EQ(usable_views(photos.sightings()).left_out.size(), 1U);
}

TEST(CalibrationPhotosProperty, DroppingTheLastTakesItsCoverageAway) {
  CalibrationPhotos photos({});
  photos.add("first", lens_photo("01"));
  const double one = photos.coverage().share();
  EXPECT_GT(one, 0.0);
  photos.add("second", lens_photo("05"));  // in another corner of the picture
  EXPECT_GT(photos.coverage().share(), one);
  photos.drop_last();
  EXPECT_EQ(photos.coverage().share(), one);
  photos.drop_last();
  photos.drop_last();
  EXPECT_EQ(photos.coverage().share(), 0.0);
  EXPECT_EQ(photos.camera().width_px, 0) << "the next photo says anew which camera it is";
}

/// All of the picture seen but its upper left ninth, as stored.
CalibrationCoverage all_but_upper_left() {
  CalibrationCoverage coverage;
  for (int row = 0; row < CalibrationCoverage::kRows; ++row) {
    for (int column = 0; column < CalibrationCoverage::kColumns; ++column) {
      coverage.at(row, column) = row < 2 && column < 3 ? 0 : 5;
    }
  }
  return coverage;
}

TEST(EmptiestPartClosedForm, ItIsNamedAsThePictureIsHeld) {
  const cv::Size stored(400, 300);
  const CalibrationCoverage coverage = all_but_upper_left();
  EXPECT_EQ(emptiest_part(coverage, stored, 1), "upper left corner");
  EXPECT_EQ(emptiest_part(coverage, stored, 3), "lower right corner");  // turned by 180 degrees
  EXPECT_EQ(emptiest_part(coverage, stored, 6), "upper right corner");  // by 90, clockwise
  EXPECT_EQ(emptiest_part(coverage, stored, 8), "lower left corner");
  EXPECT_EQ(emptiest_part(coverage, stored, 2), "upper right corner");  // mirrored
  CalibrationCoverage full;
  full.corners.fill(1);
  EXPECT_EQ(emptiest_part(full, stored, 1), "");
}

TEST(GatheringPictureProperty, EmptyCellsAreMarkedAndItIsUpright) {
  Photo photo;
  photo.pixels = cv::Mat(300, 400, CV_8UC3, cv::Scalar(120, 120, 120));
  photo.orientation = 6;
  const cv::Mat picture = gathering_picture(photo, all_but_upper_left(), {});
  ASSERT_EQ(picture.size(), cv::Size(300, 400));
  // The empty cells lie at the upper right then; blue tints the others.
  const auto changed = [&](const cv::Rect& part) {
    cv::Scalar mean, spread;
    cv::meanStdDev(picture(part), mean, spread);
    return spread[2];
  };
  EXPECT_GT(changed({200, 0, 100, 130}), 1.5 * changed({0, 200, 100, 130}));
}

}  // namespace
}  // namespace evenbevel
