#include <cmath>
#include <random>

#include <gtest/gtest.h>

#include "evenbevel/units.hpp"
#include "finish_view/line_bank.hpp"
#include "finish_view/trace_line.hpp"
#include "seeded.hpp"

// The line filters against the bar-shaped line of C. Steger, "An unbiased detector of curvilinear
// structures", IEEE Transactions on Pattern Analysis and Machine Intelligence 20 (1998) 113-125
// (from memory): a bar of half-width w and height h, smoothed by a Gaussian g of sigma, has the
// second derivative h (g'(x + w) - g'(x - w)), -2 h w g(w) / sigma^2 in its middle; its ridge lies
// there, unsplit, as long as sigma is at least w / sqrt(3).

namespace evenbevel {
namespace {

constexpr int kColumns = 300, kRows = 220, kMiddle = 110;

/// Share of a pixel's height that a bar covers.
double covered(double row, double middle, double width) {
  const double from = std::max(row - 0.5, middle - 0.5 * width);
  return std::max(0.0, std::min(row + 0.5, middle + 0.5 * width) - from);
}

/// A face without a grain, faint noise and one level line across it.
finish::FlatFace face_with_bar(double middle, double width, double height, double noise) {
  std::mt19937_64 rng = test::seeded("FinishLine", 1);
  finish::FlatFace face;
  face.grid.columns = kColumns, face.grid.rows = kRows;
  face.surface = cv::Mat(kRows, kColumns, CV_8UC1, cv::Scalar(finish::kFlat));
  face.whole = face.surface;
  finish::FlatPhoto photo;
  photo.light.create(kRows, kColumns, CV_32FC1);
  photo.blown = cv::Mat::zeros(kRows, kColumns, CV_8UC1);
  photo.dark = photo.blown;
  photo.level = cv::Mat(kRows, kColumns, CV_32FC1, cv::Scalar(1.0));
  for (int row = 0; row < kRows; ++row) {
    for (int column = 0; column < kColumns; ++column) {
      const double bar = column > 60 && column < 240 ? height * covered(row, middle, width) : 0.0;
      photo.light.at<float>(row, column) = static_cast<float>(bar + noise * test::normal(rng));
    }
  }
  face.photos.push_back(photo);
  return face;
}

finish::LineBank bank_of(const finish::FlatFace& face) {
  finish::AllowedDirections all;
  all.on_flat.fill(true), all.on_bevel.fill(true);
  return finish::run_line_bank(face, all);
}

/// Answer of the filter along the bar, `off` rows from its middle.
double answer_at(const finish::LineBank& bank, int off) {
  return bank.answer[0].at<uchar>(kMiddle + off, kColumns / 2) / finish::kSteps;
}

TEST(FinishLineOutside, RidgeInTheMiddleUpToStegersWidth) {
  const double widest = 2.0 * std::sqrt(3.0) * finish::kAcrossPx;
  for (const double width : {1.0, 2.0, 3.0, 0.96 * widest}) {
    const finish::LineBank bank = bank_of(face_with_bar(kMiddle, width, 0.04, 0.02));
    for (const int off : {-2, -1, 1, 2}) {
      EXPECT_GE(answer_at(bank, 0), answer_at(bank, off)) << width << " px, " << off;
    }
  }
  const finish::LineBank split = bank_of(face_with_bar(kMiddle, 1.8 * widest, 0.04, 0.02));
  EXPECT_GT(std::max(answer_at(split, 2), answer_at(split, 3)), answer_at(split, 0));
}

TEST(FinishLineOutside, AnswerIsStegersOfANarrowBar) {
  const double s2 = finish::kAcrossPx * finish::kAcrossPx;
  for (const double width : {0.1, 0.5, 1.0}) {
    const double w = 0.5 * width;
    const double g = std::exp(-0.5 * w * w / s2) / std::sqrt(2.0 * kPi * s2);
    const double published = s2 * 2.0 * w * g / s2;
    // answer_to_line takes the bar for infinitely narrow: at 1 px by a tenth too much.
    EXPECT_NEAR(finish::answer_to_line(width, 0.0), published, 0.1 * published) << width;
  }
}

TEST(FinishLineOutside, ASymmetricBarIsPlacedWithoutBias) {
  for (const double off : {0.0, 0.25, 0.5, 0.75}) {
    const auto lines = finish::trace_lines(bank_of(face_with_bar(kMiddle + off, 1.5, 0.3, 0.02)));
    ASSERT_FALSE(lines.empty());
    const Eigen::Vector2d middle = 0.5 * (lines.front().from + lines.front().to);
    // Answers are kept up to 32 times the noise, in whole pixels: a strong line's ridge is a
    // plateau there and is placed to a quarter of a pixel.
    EXPECT_NEAR(middle.y(), kMiddle + off, 0.3) << off;
    EXPECT_LT(degrees(between_axes(lines.front().direction_rad(), 0.0)), 0.3);
  }
}

TEST(FinishLineBadInput, NoiseAloneHoldsNoLongLine) {
  for (const auto& line : finish::trace_lines(bank_of(face_with_bar(kMiddle, 1.0, 0.0, 0.05)))) {
    EXPECT_LT(line.length(), 40.0);
  }
}

}  // namespace
}  // namespace evenbevel
