#include <gtest/gtest.h>
#include <opencv2/core.hpp>
#include <opencv2/imgcodecs.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/photo.hpp"

namespace evenbevel {
namespace {

cv::Mat smooth_colours() {
  cv::Mat picture(64, 96, CV_8UC3);
  for (int row = 0; row < picture.rows; ++row) {
    for (int column = 0; column < picture.cols; ++column) {
      picture.at<cv::Vec3b>(row, column) =
          cv::Vec3b(static_cast<uchar>(2 * column), static_cast<uchar>(3 * row), 90);
    }
  }
  return picture;
}

// OpenCV's own decoder as the other side.
TEST(JpegOutside, ColoursAndSizeAreReadByOpenCv) {
  const cv::Mat back = cv::imdecode(encode_jpeg(smooth_colours(), 95), cv::IMREAD_UNCHANGED);
  ASSERT_EQ(back.size(), cv::Size(96, 64));
  ASSERT_EQ(back.type(), CV_8UC3);
  // Quality 95 on a gentle ramp: quantisation of a grey level or two, chroma at half resolution.
  EXPECT_LT(cv::norm(back, smooth_colours(), cv::NORM_L1) / static_cast<double>(back.total() * 3),
            1.5);
}

TEST(JpegClosedForm, APartOfAPictureIsWrittenRowByRow) {
  const cv::Mat part = smooth_colours()(cv::Rect(10, 5, 33, 17));
  const cv::Mat back = cv::imdecode(encode_jpeg(part, 95), cv::IMREAD_UNCHANGED);
  ASSERT_EQ(back.size(), part.size());
  EXPECT_LT(cv::norm(back, part, cv::NORM_L1) / static_cast<double>(back.total() * 3), 1.5);
}

TEST(JpegClosedForm, GreyStaysGrey) {
  const cv::Mat grey(30, 40, CV_8UC1, cv::Scalar(77));
  const cv::Mat back = cv::imdecode(encode_jpeg(grey, 90), cv::IMREAD_UNCHANGED);
  ASSERT_EQ(back.type(), CV_8UC1);
  EXPECT_LE(cv::norm(back, grey, cv::NORM_INF), 1.0);
}

TEST(JpegBadInput, TooWideForJpegIsRefused) {
  EXPECT_THROW(encode_jpeg(cv::Mat(1, 70000, CV_8UC1, cv::Scalar(0)), 90), Error);
}

}  // namespace
}  // namespace evenbevel
