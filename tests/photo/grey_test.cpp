#include <gtest/gtest.h>
#include <opencv2/core.hpp>

#include "evenbevel/photo.hpp"
#include "picture_maker.hpp"

namespace evenbevel {
namespace {

TEST(GreyClosedForm, AGreyPhotoIsNotCopied) {
  const cv::Mat grey(4, 5, CV_8UC1, cv::Scalar(7));
  EXPECT_EQ(grey8(grey).data, grey.data);
}

// ITU-R BT.601: luma 0.299 R + 0.587 G + 0.114 B.
TEST(GreyClosedForm, ColoursWeighAsInBT601) {
  const auto luma = [](const cv::Scalar& bgr) {
    return static_cast<int>(grey8(cv::Mat(2, 2, CV_8UC3, bgr)).at<uchar>(0, 0));
  };
  EXPECT_NEAR(luma({200, 0, 0}), 0.114 * 200, 0.6);  // rounded to whole levels
  EXPECT_NEAR(luma({0, 200, 0}), 0.587 * 200, 0.6);
  EXPECT_NEAR(luma({0, 0, 200}), 0.299 * 200, 0.6);
}

TEST(GreyClosedForm, SixteenBitsKeepWhiteAndBlack) {
  for (const int type : {CV_16UC1, CV_16UC3}) {
    EXPECT_EQ(grey8(cv::Mat(2, 2, type, cv::Scalar::all(65535))).at<uchar>(0, 0), 255);
    EXPECT_EQ(grey8(cv::Mat(2, 2, type, cv::Scalar::all(0))).at<uchar>(0, 0), 0);
    EXPECT_EQ(grey8(cv::Mat(2, 2, type, cv::Scalar::all(257 * 93))).at<uchar>(0, 0), 93);
  }
}

TEST(GreyClosedForm, EightAndSixteenBitsAgree) {
  const cv::Size size(40, 30);
  const cv::Mat from_8 = grey8(test::smooth_picture(size, CV_8UC3));
  const cv::Mat from_16 = grey8(test::smooth_picture(size, CV_16UC3));
  EXPECT_LE(test::largest_difference(from_8, from_16), 1.0);  // each rounds once or twice
}

}  // namespace
}  // namespace evenbevel
