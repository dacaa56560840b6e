#include "evenbevel/media.hpp"

#include <fstream>
#include <sstream>
#include <string>

#include <gtest/gtest.h>
#include <opencv2/core.hpp>
#include <opencv2/imgcodecs.hpp>

namespace evenbevel {
namespace {

cv::Mat ramp() {
  cv::Mat picture(40, 60, CV_16UC1);
  for (int row = 0; row < picture.rows; ++row) {
    for (int column = 0; column < picture.cols; ++column) {
      picture.at<std::uint16_t>(row, column) = static_cast<std::uint16_t>(1000 * row + column);
    }
  }
  return picture;
}

/// The process's memory map names every library that is loaded.
bool loaded(const std::string& path) {
  std::ifstream maps("/proc/self/maps");
  std::ostringstream text;
  text << maps.rdbuf();
  return text.str().find(path) != std::string::npos;
}

TEST(MediaClosedForm, PicturesComeBackAsTheyWere) {
  const std::vector<std::uint8_t> file = encode_picture(".png", ramp());
  const cv::Mat back = decode_picture(file, cv::IMREAD_UNCHANGED);
  EXPECT_EQ(back.type(), CV_16UC1);
  EXPECT_EQ(cv::norm(back, ramp(), cv::NORM_INF), 0.0);
  EXPECT_TRUE(loaded(PLUGIN));
}

TEST(MediaBadInput, WhatIsNoPictureIsEmpty) {
  const std::vector<std::uint8_t> bytes(100, 7);
  EXPECT_TRUE(decode_picture(bytes, cv::IMREAD_UNCHANGED).empty());
}

TEST(MediaBadInput, AVideoThatIsNotThereIsNotOpened) {
  EXPECT_EQ(open_video("no-such-video.mp4"), nullptr);
}

}  // namespace
}  // namespace evenbevel
