#include "border/path.hpp"

#include <cmath>

#include <gtest/gtest.h>

#include "border/border_gain.hpp"
#include "border/places.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

TEST(FollowedPathClosedForm, FollowsTheOnlyGain) {
  cv::Mat gain(40, 30, CV_32FC1, cv::Scalar(0));
  for (int column = 0; column < 30; ++column) gain.at<float>(10 + column / 2, column) = 10.0F;
  const std::vector<int> path = best_path(gain, {.steepest = 3, .sharpest = 2, .bend_cost = 0.5});
  ASSERT_EQ(path.size(), 30U);
  for (int column = 0; column < 30; ++column)
    EXPECT_EQ(path[static_cast<std::size_t>(column)], 10 + column / 2);
}

TEST(FollowedPathClosedForm, CrossesAGapStraight) {
  cv::Mat gain(40, 30, CV_32FC1, cv::Scalar(0));
  for (int column = 0; column < 30; ++column) {
    if (column < 10 || column >= 20) gain.at<float>(5 + column, column) = 10.0F;
  }
  const std::vector<int> path = best_path(gain, {.steepest = 3, .sharpest = 1, .bend_cost = 1.0});
  for (int column = 0; column < 30; ++column)
    EXPECT_EQ(path[static_cast<std::size_t>(column)], 5 + column);
}

TEST(FollowedPathClosedForm, NeverEntersForbiddenPlaces) {
  cv::Mat gain(20, 10, CV_32FC1, cv::Scalar(kForbidden));
  gain.row(7).setTo(0.0F);
  for (const int row : best_path(gain, {})) EXPECT_EQ(row, 7);
}

/// Evidence along rows; all of it where the sides of a band of columns are.
cv::Mat evidence_at(const std::vector<int>& columns, int width) {
  cv::Mat evidence = cv::Mat::zeros(static_cast<int>(columns.size()), width, CV_32F);
  for (int row = 0; row < evidence.rows; ++row) {
    evidence.at<float>(row, columns[static_cast<std::size_t>(row)]) = 2.0F;
  }
  return evidence;
}

TEST(FollowedStepsClosedForm, TheEvidenceIsFollowedAsFarAsAStepReaches) {
  const std::vector<int> bent = {3, 4, 6, 6, 5, 4};
  EXPECT_EQ(best_steps(evidence_at(bent, 12), {.reach = 2, .cost = 0.1F}), bent);
  EXPECT_EQ(best_steps(evidence_at({3, 3, 9, 3, 3}, 12), {.reach = 2, .cost = 0.1F}),
            (std::vector<int>{3, 3, 3, 3, 3}))
      << "six columns aside and back are too far";
}

// A way round costs six steps and brings two places more: worth it at 0.5 a step, not at 0.7.
TEST(FollowedStepsClosedForm, AStepCostsWhatIsSaid) {
  const cv::Mat evidence = evidence_at({2, 2, 5, 5, 2, 2}, 9);
  EXPECT_EQ(best_steps(evidence, {.reach = 3, .cost = 0.5F})[2], 5);
  EXPECT_EQ(best_steps(evidence, {.reach = 3, .cost = 0.7F})[2], 2);
}

TEST(FollowedStepsClosedForm, BoundsAreKept) {
  const cv::Mat evidence = evidence_at({5, 5, 5, 5}, 9);
  EXPECT_EQ(
      best_steps(evidence, {.reach = 2, .cost = 0.1F, .first = {0, 0, 0, 0}, .last = {4, 4, 4, 4}}),
      (std::vector<int>{0, 0, 0, 0}));
  EXPECT_EQ(
      best_steps(evidence, {.reach = 2, .cost = 0.1F, .first = {5, 5, 5, 5}, .last = {8, 8, 8, 8}}),
      (std::vector<int>{5, 5, 5, 5}));
}

// One station that says nothing between two that know: the mean of the two, and less sure.
TEST(FollowedPlacesClosedForm, BridgesASilentStation) {
  cv::Mat gain(21, 3, CV_32FC1, cv::Scalar(-30));
  gain.at<float>(8, 0) = 0.0F, gain.at<float>(12, 2) = 0.0F;
  gain.col(1).setTo(0.0F);
  const std::vector<Place> places = places_along(gain, {.steepest = 4, .up = 0.05, .down = 0.05});
  EXPECT_NEAR(places[0].cell, 8.0, 1e-6);
  EXPECT_NEAR(places[1].cell, 10.0, 1e-6);  // a straight run: no bend costs
  EXPECT_NEAR(places[2].cell, 12.0, 1e-6);
  EXPECT_LT(places[0].spread, 1e-3);
}

// Normal likelihoods without a curve's help (all bends alike): the likelihood's own mean and width.
TEST(FollowedPlacesClosedForm, OneStationGivesBackItsLikelihood) {
  cv::Mat gain(81, 1, CV_32FC1);
  for (int cell = 0; cell < 81; ++cell)
    gain.at<float>(cell, 0) = static_cast<float>(-0.5 * std::pow((cell - 37.3) / 4.0, 2));
  const std::vector<Place> places = places_along(gain, {});
  EXPECT_NEAR(places[0].cell, 37.3, 1e-3);
  EXPECT_NEAR(places[0].spread, 4.0, 1e-3);
}

TEST(FollowedPlacesProperty, StatedSpreadIsTheSpreadOverTrials) {
  // A straight curve, normal noise of 3 cells on each station's likelihood.
  double squares = 0.0;
  int count = 0;
  for (int trial = 0; trial < 60; ++trial) {
    std::mt19937_64 rng = test::seeded("SidePlaces", trial);
    cv::Mat gain(61, 40, CV_32FC1);
    for (int station = 0; station < 40; ++station) {
      const double noise = test::normal(rng);
      for (int cell = 0; cell < 61; ++cell)
        gain.at<float>(cell, station) =
            static_cast<float>(-0.5 * std::pow((cell - 30.0 - 3.0 * noise) / 3.0, 2));
    }
    const std::vector<Place> places = places_along(gain, {.steepest = 3, .up = 0.03, .down = 0.03});
    const Place& middle = places[20];
    squares += std::pow((middle.cell - 30.0) / middle.spread, 2), ++count;
  }
  const double ratio = std::sqrt(squares / count);
  EXPECT_LT(ratio, 1.2);  // a straight line is the likeliest curve: never wider than stated
  EXPECT_GT(ratio, 0.3);
}

/// Squared difference at cell `i` over what it is far inside a flat whose streaks, finer than a
/// cell and each for itself, end at `at`: the sum over them of the blurred difference's answer to
/// one, squared. @param spread2  Variance of blur and arms.
double streaks_at(double i, double at, double spread2) {
  constexpr double kStep = 0.05, kReach = 12.0;
  double seen = 0.0, all = 0.0;
  for (double off = -kReach; off <= kReach; off += kStep) {  // of the streak, below the cell
    const double answer = off * std::exp(-0.5 * off * off / spread2);
    all += answer * answer;
    if (i + off < at) seen += answer * answer;
  }
  return seen / all;
}

/// Cells across a border at `at`, `blur` wide; the bevel (below) is scratched across the border.
BorderCells drawn_border(double at, double blur, double step, double noise, std::mt19937_64& rng) {
  BorderCells cells;
  cells.blur = blur;
  for (int i = 0; i < 60; ++i) {
    const auto share = [&](double soft) {
      return 0.5 * std::erfc((at - i) / (std::sqrt(2.0) * soft));  // of the bevel
    };
    const auto speckle = [&] { return std::exp(noise * test::normal(rng)); };
    const double scratch = share(std::sqrt(blur * blur + 0.5));
    const double arms = blur * blur + 1.0 / 3.0;
    const double across = step * step / (4.0 * arms) * std::exp(-(i - at) * (i - at) / arms);
    cells.code.push_back(0.4 + 0.001 * i + step * share(blur) +
                         0.1 * noise * 0.02 * test::normal(rng));
    cells.along.push_back((1e-4 + 1e-3 * scratch * scratch) * speckle());
    cells.across.push_back((1e-4 + 4e-4 * streaks_at(i, at, arms) + across) * speckle());
  }
  return cells;
}

/// Where either cue is likeliest.
Eigen::Vector2d likeliest(const BorderCells& cells) {
  Eigen::Vector2d best(-1e9, -1e9), place(0.0, 0.0);
  for (double at = 20.0; at <= 40.0; at += 0.02) {
    const BorderGain gain = border_gain(cells, at);
    if (gain.code > best.x()) best.x() = gain.code, place.x() = at;
    if (gain.grain > best.y()) best.y() = gain.grain, place.y() = at;
  }
  return place;
}

TEST(BorderGainClosedForm, ABlurredBorderIsFoundBetweenPixels) {
  std::mt19937_64 rng = test::seeded("SideBorder", 0);
  for (const double blur : {0.6, 0.9, 1.4}) {
    for (const double at : {29.0, 29.3, 29.5, 30.7}) {
      const Eigen::Vector2d place = likeliest(drawn_border(at, blur, -0.1, 0.0, rng));
      EXPECT_NEAR(place.x(), at, 0.05) << blur;
      EXPECT_NEAR(place.y(), at, 0.10) << blur;
    }
  }
}

// The rougher surface must not draw the border over to itself: neither the scratches of the bevel
// nor the streaks of the flat. A third of a pixel was the fault of windows set beside the border.
TEST(BorderGainProperty, NeitherSurfaceDrawsTheBorderToItself) {
  Eigen::Vector2d mean(0.0, 0.0);
  constexpr int kTrials = 100;
  for (int trial = 0; trial < kTrials; ++trial) {
    std::mt19937_64 rng = test::seeded("SideBorderBias", trial);
    const double at = 29.0 + test::uniform(rng, 0.0, 1.0);
    const double step = test::uniform(rng, -0.15, 0.15);
    mean += (likeliest(drawn_border(at, 0.8, step, 0.4, rng)) - Eigen::Vector2d(at, at)) / kTrials;
  }
  EXPECT_LT(std::abs(mean.x()), 0.1);
  EXPECT_LT(std::abs(mean.y()), 0.1);
}

TEST(FollowedPlacesClosedForm, SmoothingKeepsAParabola) {
  std::vector<double> at, values;
  for (int i = 0; i < 30; ++i) at.push_back(i), values.push_back(0.02 * i * i - 0.3 * i + 4.0);
  const std::vector<double> smooth = smoothed(at, values, std::vector<double>(30, 1.0), 6.0);
  for (std::size_t i = 0; i < 30; ++i) EXPECT_NEAR(smooth[i], values[i], 1e-6);
}

}  // namespace
}  // namespace evenbevel
