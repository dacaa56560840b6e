#include "border/sharpening.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include <gtest/gtest.h>
#include <opencv2/imgproc.hpp>

#include "evenbevel/trace.hpp"

namespace evenbevel {
namespace {

constexpr double kBlurPx = 0.8, kBorderRow = 31.3;
constexpr int kRows = 64, kColumns = 40;

/// Slightly aslant, so that the columns sample the border between pixels too.
double border_row(int column) { return kBorderRow + 0.05 * (column - 20); }

double encoded_light(double linear) {
  return linear <= 0.0031308 ? 12.92 * linear : 1.055 * std::pow(linear, 1.0 / 2.4) - 0.055;
}

/// A step of linear light down the rows, as a camera encodes it (IEC 61966-2-1), 0..65535.
cv::Mat step_picture(double first, double second) {
  cv::Mat picture(kRows, kColumns, CV_32F);
  for (int row = 0; row < kRows; ++row) {
    for (int column = 0; column < kColumns; ++column) {
      const double step = blurred_step(row - border_row(column), kBlurPx);
      picture.at<float>(row, column) =
          static_cast<float>(65535.0 * encoded_light(first + (second - first) * step));
    }
  }
  return picture;
}

/// As OpenCV's users sharpen: the picture plus what a Gaussian blur takes from it.
cv::Mat sharpened(const cv::Mat& picture, const Sharpening& mask) {
  cv::Mat blurred, out;
  cv::GaussianBlur(picture, blurred, {}, mask.radius_px, 0.0, cv::BORDER_REPLICATE);
  cv::addWeighted(picture, 1.0 + mask.amount, blurred, -mask.amount, 0.0, out);
  return cv::min(cv::max(out, 0.0), 65535.0);
}

cv::Mat stored(const cv::Mat& picture, int depth) {
  cv::Mat out;
  picture.convertTo(out, depth, depth == CV_16U ? 1.0 : 1.0 / 257.0);
  return out;
}

/// Across the border, from the picture's middle columns.
std::vector<ProfileSample> profile_of(const cv::Mat& stored16) {
  std::vector<ProfileSample> samples;
  for (int row = 16; row < 48; ++row) {
    for (int column = 12; column < 28; ++column) {
      samples.push_back(
          {row - border_row(column), linear_light(stored16.at<ushort>(row, column) / 65535.0)});
    }
  }
  std::sort(samples.begin(), samples.end(),
            [](const ProfileSample& a, const ProfileSample& b) { return a.t_px < b.t_px; });
  return samples;
}

double border_px(const cv::Mat& stored16) {
  const ProfileFit fit = fit_step(profile_of(stored16), 0.0, kBlurPx);
  EXPECT_TRUE(fit.converged);
  return fit.model.positions_px[0];
}

TEST(SharpeningClosedForm, TheMaskIsReadFromOneBorder) {
  for (const Sharpening& mask :
       {Sharpening{0.3, 1.0}, Sharpening{0.6, 1.2}, Sharpening{1.0, 1.4}}) {
    SCOPED_TRACE(mask.amount);
    const cv::Mat picture = stored(sharpened(step_picture(0.04, 0.6), mask), CV_16U);
    const auto read = sharpening_of(profile_of(picture), 0.2, 0.7, 0.95);
    ASSERT_TRUE(read);
    // A wider mask of less amount does nearly the same.
    EXPECT_NEAR(read->amount, mask.amount, 0.1);
    EXPECT_NEAR(read->radius_px, mask.radius_px, 0.2);
    EXPECT_NEAR(border_px(unsharpened(picture, *read, 255.0)), 0.0, 0.02);
  }
}

TEST(SharpeningClosedForm, APlainBorderHasNone) {
  const auto read =
      sharpening_of(profile_of(stored(step_picture(0.04, 0.6), CV_16U)), 0.2, 0.7, 0.95);
  ASSERT_TRUE(read);
  EXPECT_NEAR(read->amount, 0.0, 0.02);
}

// The mask moves a strong border toward its dark side by a seventh of a px; taken back, the
// border is where it was.
TEST(SharpeningClosedForm, AStrongBorderComesBackToItsPlace) {
  const Sharpening mask{0.8, 1.2};
  const cv::Mat sharp = sharpened(step_picture(0.02, 0.7), mask);
  EXPECT_LT(border_px(stored(sharp, CV_16U)), -0.1);
  EXPECT_NEAR(border_px(unsharpened(stored(sharp, CV_16U), mask, 255.0)), 0.0, 0.02);
  EXPECT_NEAR(border_px(unsharpened(stored(sharp, CV_8U), mask, 255.0)), 0.0, 0.04);
}

TEST(SharpeningClosedForm, WhatWasClippedStaysClipped) {
  const Sharpening mask{0.8, 1.2};
  const cv::Mat sharp = stored(sharpened(step_picture(0.02, 1.0), mask), CV_8U);
  const cv::Mat back = unsharpened(sharp, mask, 245.0);
  for (int row = 0; row < kRows; ++row) {
    if (sharp.at<uchar>(row, 20) >= 245) {
      EXPECT_EQ(back.at<ushort>(row, 20), 257 * sharp.at<uchar>(row, 20));
    }
  }
}

TEST(SharpeningBadInput, TooFewSamplesTellNothing) {
  EXPECT_FALSE(
      sharpening_of(std::vector<ProfileSample>(8, ProfileSample{0.0, 0.5}), 0.0, 0.7, 1.0));
}

}  // namespace
}  // namespace evenbevel
