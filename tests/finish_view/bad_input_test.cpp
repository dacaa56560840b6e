#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/error.hpp"
#include "evenbevel/finish_view.hpp"

namespace evenbevel {
namespace {

std::string refused(const std::vector<FinishPhoto>& photos) {
  try {
    finish_view(photos, {.thickness_mm = 3.2});
  } catch (const Error& e) {
    return e.what();
  }
  return "";
}

TEST(FinishViewBadInput, NoPhoto) { EXPECT_THAT(refused({}), testing::HasSubstr("no photo")); }

TEST(FinishViewBadInput, TheSamePhotoTwice) {
  Photo photo;
  photo.name = "a.jpg";
  photo.pixels = cv::Mat(60, 80, CV_8UC3, cv::Scalar(90, 90, 90));
  Photo again = photo;
  again.name = "b.jpg";
  const CameraModel camera;
  EXPECT_THAT(refused({{Face::left, &photo, &camera}, {Face::left, &again, &camera}}),
              testing::HasSubstr("a.jpg and b.jpg"));
}

TEST(FinishViewBadInput, NoCardNamesThePhoto) {
  Photo photo;
  photo.name = "bare.jpg";
  photo.pixels = cv::Mat(600, 800, CV_8UC3, cv::Scalar(90, 90, 90));
  CameraModel camera;
  camera.guessed = true;
  camera.width_px = 800, camera.height_px = 600;
  EXPECT_THAT(refused({{Face::right, &photo, &camera}}),
              testing::AllOf(testing::HasSubstr("bare.jpg"), testing::HasSubstr("right")));
}

}  // namespace
}  // namespace evenbevel
