#include <cmath>

#include <gtest/gtest.h>
#include <opencv2/imgproc.hpp>

#include "evenbevel/finish_view.hpp"
#include "evenbevel/units.hpp"
#include "finish_view/lamp.hpp"
#include "finish_view/lay.hpp"
#include "finish_view/line_bank.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

/// Lines that run at a direction from x toward z (up), `period` px apart.
cv::Mat grating(double direction_rad, double period) {
  cv::Mat light(200, 240, CV_32FC1);
  for (int row = 0; row < light.rows; ++row) {
    for (int column = 0; column < light.cols; ++column) {
      const double across = -row * std::cos(direction_rad) - column * std::sin(direction_rad);
      light.at<float>(row, column) = static_cast<float>(std::sin(2.0 * kPi * across / period));
    }
  }
  return light;
}

TEST(FinishLayOutside, StructureTensorOfAGrating) {
  for (int k = 0; k < 12; ++k) {
    const double direction = radians(15.0 * k + 3.0);
    const cv::Mat light = grating(direction, 9.0);
    const finish::StructureTensor tensor =
        finish::structure_tensor(light, cv::Mat(light.size(), CV_8UC1, cv::Scalar(1)));
    // A 3 x 3 derivative turns the gradient by some tenths of a degree at 9 px.
    EXPECT_LT(degrees(between_axes(tensor.direction_rad(), direction)), 0.5) << 15 * k + 3;
    EXPECT_GT(tensor.coherence(), 0.98);
  }
}

/// Noise whose correlation is a Gaussian, `longest` px along the direction and `shortest` across
/// it.
cv::Mat texture(double direction_rad, double longest, double shortest) {
  std::mt19937_64 rng = test::seeded("FinishLay", 7);
  cv::Mat noise(512, 512, CV_32FC1), soft, turned;
  for (int row = 0; row < noise.rows; ++row) {
    for (int column = 0; column < noise.cols; ++column) {
      noise.at<float>(row, column) = static_cast<float>(test::normal(rng));
    }
  }
  // White noise blurred by a Gaussian of sigma has one of sigma sqrt(2) for its correlation.
  cv::GaussianBlur(noise, soft, {}, longest, shortest);
  const cv::Mat turn = cv::getRotationMatrix2D({256.0F, 256.0F}, degrees(direction_rad), 1.0);
  cv::warpAffine(soft, turned, turn, soft.size(), cv::INTER_CUBIC);
  return turned(cv::Rect(106, 106, 300, 300)).clone();
}

TEST(FinishLayOutside, DirectionRatioOfAGaussianTexture) {
  // Of a Gaussian correlation both lengths at 0.2 are the same multiple of its sigmas: Str is their
  // ratio (ISO 25178-2).
  for (const double shortest : {2.0, 3.0, 6.0}) {
    const auto ratio = finish::direction_ratio(texture(radians(30.0), 6.0, shortest));
    ASSERT_TRUE(ratio);
    // 300 px hold some 800 grains of the coarsest texture: the lengths scatter by a tenth.
    EXPECT_NEAR(*ratio, shortest / 6.0, shortest == 6.0 ? 0.2 : 0.08);
  }
}

TEST(FinishLayClosedForm, NoDirectionRatioWithoutTexture) {
  EXPECT_FALSE(finish::direction_ratio(cv::Mat::zeros(80, 80, CV_32FC1)));
}

TEST(FinishDirectionsClosedForm, Axes) {
  EXPECT_NEAR(between_axes(radians(175.0), radians(5.0)), radians(10.0), 1e-12);
  EXPECT_NEAR(axis_of(radians(-30.0)), radians(150.0), 1e-12);
  EXPECT_EQ(direction_words(radians(175.0)), "along the blade");
  EXPECT_EQ(direction_words(radians(90.0)), "up and down");
  EXPECT_EQ(direction_words(radians(50.0)), "leaning to the tip");
  EXPECT_EQ(direction_words(radians(130.0)), "leaning to the handle");
}

TEST(FinishLampClosedForm, ALampAcrossLeansNoFacetAlong) {
  EXPECT_NEAR(finish::lean_along(radians(60.0), radians(150.0), 0.4), 0.0, 1e-12);
  // Light along the groove at 30 degrees up: the facet that sends it straight up leans 30 degrees.
  EXPECT_NEAR(finish::lean_along(0.0, 0.0, radians(30.0)), std::tan(radians(30.0)), 1e-12);
}

TEST(FinishLineClosedForm, AnswerIsTheBlurredLinesCurvature) {
  // -sigma^2 times the second derivative of a Gaussian of variance sigma^2 + blur^2, at its middle.
  const double s2 = finish::kAcrossPx * finish::kAcrossPx + 0.81;
  const double middle = 1.0 / std::sqrt(2.0 * kPi * s2);
  const double h = 1e-3;
  const double beside = middle * std::exp(-0.5 * h * h / s2);
  const double curvature = 2.0 * (middle - beside) / (h * h);
  EXPECT_NEAR(finish::answer_to_line(0.7, 0.9),
              0.7 * finish::kAcrossPx * finish::kAcrossPx * curvature, 1e-6);
}

}  // namespace
}  // namespace evenbevel
