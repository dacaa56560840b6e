// What the picture of a refused photo shows, on the sample photos.

#include "evenbevel/refused_picture.hpp"

#include <gtest/gtest.h>
#include <opencv2/core.hpp>

#include "evenbevel/photo.hpp"
#include "scratch_folder.hpp"

namespace evenbevel {
namespace {

Photo sample_photo(const std::string& name) {
  return read_photo(std::filesystem::path(SOURCE_FOLDER) / "sample-images" / name);
}

bool near_colour(const cv::Vec3b& pixel, const cv::Vec3b& bgr) {
  constexpr int kNear = 40;
  for (int i = 0; i < 3; ++i) {
    if (std::abs(pixel[i] - bgr[i]) > kNear) return false;
  }
  return true;
}

/// Pixels of a colour within a few of a place of the 1600 px wide picture.
int pixels_near(const cv::Mat& picture, cv::Point at, const cv::Vec3b& bgr) {
  constexpr int kAround = 16;
  const cv::Rect part = cv::Rect(at.x - kAround, at.y - kAround, 2 * kAround, 2 * kAround) &
                        cv::Rect({}, picture.size());
  int count = 0;
  for (int y = part.y; y < part.y + part.height; ++y) {
    for (int x = part.x; x < part.x + part.width; ++x) {
      count += near_colour(picture.at<cv::Vec3b>(y, x), bgr) ? 1 : 0;
    }
  }
  return count;
}

const cv::Vec3b kFoundGreen(0x73, 0x9E, 0x00);

TEST(RefusedPictureSamplePhotos, TheCardIsFoundAndItsLaneIsWhereTheGreenIs) {
  const Photo photo = sample_photo("edge-no-blade.jpg");
  const RefusedLook look = look_at_refused(photo, CardKind::edge);
  ASSERT_NE(look.card(), nullptr);
  EXPECT_GE(look.card()->corners.size(), 90U);
  ASSERT_FALSE(look.lane_px.empty());
  Eigen::Vector2d upper = look.lane_px.front(), lower = upper;
  for (const Eigen::Vector2d& q : look.lane_px) {
    upper = upper.cwiseMin(q);
    lower = lower.cwiseMax(q);
  }
  // A quarter from its upper border the slot is not: there lies the card's green.
  const cv::Point in_lane(static_cast<int>(0.5 * (upper.x() + lower.x())),
                          static_cast<int>(0.72 * upper.y() + 0.28 * lower.y()));
  const auto pixel = photo.pixels.at<cv::Vec3b>(in_lane);
  EXPECT_GT(pixel[1], 1.4 * pixel[2]) << "green over red";
  EXPECT_TRUE(look.white_px.empty());
}

TEST(RefusedPictureSamplePhotos, FoundCornersAreMarkedWhereTheyAreHoweverThePhotoIsTurned) {
  for (const int orientation : {1, 3, 6, 8}) {
    Photo photo = sample_photo("edge-usb.jpg");
    photo.orientation = orientation;
    const RefusedLook look = look_at_refused(photo, CardKind::edge);
    ASSERT_NE(look.card(), nullptr);
    const cv::Mat picture = refused_picture(photo, look);
    ASSERT_EQ(picture.cols, 1600);
    const cv::Size up = upright_size(photo.pixels.size(), orientation);
    const double scale = std::min(1520.0 / up.width, 3200.0 / up.height);
    int marked = 0;
    for (const CardCorner& corner : look.card()->corners) {
      const cv::Point2d q =
          upright_point({corner.q_px.x(), corner.q_px.y()}, photo.pixels.size(), orientation);
      const cv::Point at(static_cast<int>(40.0 + q.x * scale),
                         static_cast<int>(40.0 + q.y * scale));
      marked += pixels_near(picture, at, kFoundGreen) > 40 ? 1 : 0;
    }
    // Some lie under a label.
    EXPECT_GT(marked, static_cast<int>(look.card()->corners.size()) * 3 / 4) << orientation;
  }
}

TEST(RefusedPictureSamplePhotos, WhatIsBlownOutIsFramed) {
  const RefusedLook look = look_at_refused(sample_photo("edge-overexposed.jpg"), CardKind::edge);
  EXPECT_FALSE(look.white_px.empty());
}

TEST(RefusedPictureSamplePhotos, ABlurredCardsCornersThatAreNotSeenAreCounted) {
  const RefusedLook look = look_at_refused(sample_photo("edge-blurred.jpg"), CardKind::edge);
  ASSERT_NE(look.card(), nullptr);
  EXPECT_GT(look.unseen_px.size(), look.card()->corners.size() / 2);
  EXPECT_EQ(
      look.unseen_px.size() + static_cast<std::size_t>(look.outside) + look.card()->corners.size(),
      card_layout(CardKind::edge).corners_mm.size());
}

TEST(RefusedPictureBadInput, WithoutACardOrWithAnotherOneThereIsStillAPicture) {
  const Photo bare = sample_photo("edge-no-card.jpg");
  const RefusedLook none = look_at_refused(bare, CardKind::edge);
  EXPECT_TRUE(none.cards.empty());
  EXPECT_TRUE(none.lane_px.empty());
  EXPECT_EQ(refused_picture(bare, none).cols, 1600);
  const RefusedLook other = look_at_refused(sample_photo("side-glare.jpg"), CardKind::edge);
  EXPECT_EQ(other.card(), nullptr);
  EXPECT_EQ(other.cards.size(), 1U);

  Photo dark;
  dark.pixels = cv::Mat(300, 400, CV_16UC1, cv::Scalar(10));
  const RefusedLook black = look_at_refused(dark, CardKind::heel);
  EXPECT_FALSE(black.dark_px.empty());
  EXPECT_EQ(refused_picture(dark, black).type(), CV_8UC3);
}

TEST(RefusedPictureBadInput, AFolderThatCannotBeWrittenIsSaid) {
  const test::ScratchFolder folder;
  const Photo photo = sample_photo("edge-usb.jpg");
  write_refused_picture(photo, CardKind::edge, folder / "out");
  EXPECT_TRUE(std::filesystem::exists(folder / "out" / kRefusedPicture));
  test::write_file(folder / "file", "no folder");
  EXPECT_THROW(write_refused_picture(photo, CardKind::edge, folder / "file"), Error);
}

}  // namespace
}  // namespace evenbevel
