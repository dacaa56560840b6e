// The two borders of the end face, on strips drawn in closed form.

#include <cmath>
#include <vector>

#include <gtest/gtest.h>
#include <opencv2/core.hpp>

#include "choil_view/far_border.hpp"
#include "choil_view/focus.hpp"
#include "choil_view/near_border.hpp"
#include "evenbevel/trace.hpp"

namespace evenbevel::choil {
namespace {

constexpr int kRows = 120, kColumns = 100, kFar = 8;
constexpr double kRowMm = 0.1;

/// Paper, end face, side and paper from left to right: where side and paper meet it is soft.
struct Strip {
  double near_at_top = 20.0, opening = 0.3;  // Columns, and columns a row.
  double end = 0.1, side = 0.4, paper = 0.6;
  double near_sigma = 1.2, soft_sigma = 7.0;

  double near(int row) const { return near_at_top + opening * row; }
  cv::Mat draw() const {
    cv::Mat light(kRows, kColumns, CV_32F);
    for (int row = 0; row < kRows; ++row) {
      for (int k = 0; k < kColumns; ++k) {
        light.at<float>(row, k) =
            static_cast<float>(paper + (end - paper) * blurred_step(k - kFar, 1.2) +
                               (side - end) * blurred_step(k - near(row), near_sigma) +
                               (paper - side) * blurred_step(k - near(row) - 28.0, soft_sigma));
      }
    }
    return light;
  }
};

FollowedBorder follow(const Strip& strip) {
  return follow_near_border(strip.draw(), kFar, std::vector<int>(kRows, kColumns - 10), kRowMm);
}

double worst(const FollowedBorder& border, const Strip& strip) {
  double most = 0.0;
  for (int row = 0; row < kRows; ++row) {
    most = std::max(most, std::abs(border.column[static_cast<std::size_t>(row)] - strip.near(row)));
  }
  return most;
}

TEST(NearBorderClosedForm, TheSharpBorderIsTakenNotTheStrongerSoftOne) {
  const Strip strip{.end = 0.1, .side = 0.16};
  const FollowedBorder border = follow(strip);
  EXPECT_LT(worst(border, strip), 1.0);  // Columns: it is followed in whole ones.
  for (const double evidence : border.evidence) EXPECT_GT(evidence, kLeastEvidence);
}

TEST(NearBorderClosedForm, ABorderThatOpensSteeplyIsFollowed) {
  const Strip strip{.near_at_top = 14.0, .opening = 0.4, .end = 0.15, .side = 0.5};
  EXPECT_LT(worst(follow(strip), strip), 1.5);
  const Strip steep{.near_at_top = 12.0, .opening = 0.45, .end = 0.1, .side = 0.16};
  EXPECT_LT(worst(follow(steep), steep), 1.5);
}

TEST(NearBorderClosedForm, WithoutASharpBorderNothingIsBorneOut) {
  const FollowedBorder border = follow({.side = 0.1});
  for (const double evidence : border.evidence) EXPECT_LT(evidence, kLeastEvidence);
}

/// End face, a strip of its side half as light as the paper, paper: how a single step sees it.
ProfileFit step_through(double strip_px, double blur_px) {
  std::vector<ProfileSample> samples;
  for (double t = -8.0; t <= 8.0; t += 0.25) {
    samples.push_back(
        {t, 0.1 + 0.25 * blurred_step(t, blur_px) + 0.25 * blurred_step(t - strip_px, blur_px)});
  }
  return fit_step(samples, 0.0, blur_px);
}

TEST(FringeClosedForm, ABorderMovesByNoMoreThanItsSoftnessTells) {
  constexpr double kBlurPx = 0.9;
  for (const double strip_px : {1.2, 1.6, 2.0, 2.5}) {
    const ProfileFit fit = step_through(strip_px, kBlurPx);
    ASSERT_TRUE(fit.converged);
    const double moved = fit.model.positions_px[0], most = fringe_px(fit.model.blur_px, kBlurPx);
    EXPECT_GT(moved, 0.3 * strip_px);
    EXPECT_GT(1.3 * most, moved) << strip_px;  // U95 of a border: 2 / sqrt(3) of it
  }
}

TEST(FringeClosedForm, ABorderAsSharpAsTheCardsHasNone) {
  EXPECT_EQ(fringe_px(0.9, 0.9), 0.0);
  EXPECT_EQ(fringe_px(0.7, 0.9), 0.0);
  EXPECT_EQ(fringe_px(2.0, 0.0), 0.0);  // the card's blur is not known
}

/// Upright below `edge_row`, leaning by `turn` columns a row above.
std::vector<int> far_columns(int edge_row, double turn) {
  std::vector<int> out;
  for (int row = 0; row < kRows; ++row) {
    out.push_back(static_cast<int>(std::lround(50.0 - turn * std::max(0, edge_row - row))));
  }
  return out;
}

TEST(FarBorderClosedForm, TheEdgeIsWhereItTurns) {
  for (const double turn : {0.5, 2.0, 6.0}) {
    EXPECT_NEAR(static_cast<double>(first_below_turn(far_columns(25, turn), kRowMm)), 25.0, 2.0);
  }
  EXPECT_EQ(first_below_turn(far_columns(25, 0.0), kRowMm), 0U);
}

TEST(FarBorderClosedForm, ItRunsOnAboveAPlaceFoundTooLow) {
  std::vector<Eigen::Vector2d> border;  // Edge at 2 mm, above it the land leans by 0.5 mm a mm.
  for (int row = 0; row < kRows; ++row) {
    const double down = row * kRowMm;
    border.emplace_back(0.05 * down - 0.5 * std::max(0.0, 2.0 - down), down);
  }
  EXPECT_TRUE(far_border_runs_on(border, 3.0, 1.0));
  EXPECT_FALSE(far_border_runs_on(border, 2.0, 1.0));
}

}  // namespace
}  // namespace evenbevel::choil
