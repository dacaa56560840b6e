#include <cmath>
#include <string>

#include <Eigen/Dense>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "card_photo.hpp"
#include "evenbevel/error.hpp"
#include "independent_cards.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

using test::CardScene;
using test::normal;
using test::random_card_scene;
using testing::HasSubstr;
using Vector6 = Eigen::Matrix<double, 6, 1>;

/// Corners at their true pixels plus noise.
FoundCard sighted(const CardScene& scene, double noise_px, std::mt19937_64& rng) {
  const CardLayout& layout = card_layout(scene.kind);
  FoundCard card;
  card.kind = scene.kind;
  card.markers = static_cast<int>(layout.marker_cells.size());
  card.spacing_px = 40.0;
  for (std::size_t i = 0; i < layout.corners_mm.size(); ++i) {
    const double x = noise_px * normal(rng);
    const double y = noise_px * normal(rng);
    card.corners.push_back(
        {static_cast<int>(i), pixel_of(scene, layout.corners_mm[i]) + Eigen::Vector2d(x, y)});
  }
  return card;
}

/// (w, dt) with true R = exp(w) R and true t = t + dt, as CardPose states its covariance.
Vector6 error_of(const CardPose& pose, const CardScene& scene) {
  const Eigen::Isometry3d& truth = scene.T_camera_card.matrix;
  const Eigen::Isometry3d& found = pose.T_camera_card.matrix;
  const Eigen::AngleAxisd w(truth.linear() * found.linear().transpose());
  Vector6 error;
  error << w.angle() * w.axis(), truth.translation() - found.translation();
  return error;
}

double normalised_square(const CardPose& pose, const CardScene& scene) {
  const Vector6 error = error_of(pose, scene);
  return error.dot(pose.covariance_corners.ldlt().solve(error));
}

TEST(CardPoseClosedForm, ExactCornersGiveTheExactPose) {
  for (const CardKind kind : test::kAllCards) {
    std::mt19937_64 rng = test::seeded("ExactPose", static_cast<int>(kind));
    const CardScene scene = random_card_scene(kind, rng);
    const CardPose pose = fit_card_pose(sighted(scene, 0.0, rng), scene.camera, {});
    EXPECT_LT(error_of(pose, scene).head<3>().norm(), 1e-8) << name(kind);
    EXPECT_LT(error_of(pose, scene).tail<3>().norm(), 1e-5) << name(kind);
    EXPECT_EQ(pose.rejected, 0);
  }
}

// The square of the error over its covariance is chi-square with 6 degrees of freedom (Bar-Shalom,
// Li and Kirubarajan, Estimation with Applications to Tracking and Navigation, 2001, 5.4, from
// memory). Its mean over n scenes has standard deviation sqrt(12 / n): 3 of them each way, and 2 %
// more because the scatter is itself estimated, from 50 residuals at least.
TEST(CardPoseProperty, TheCovarianceIsTheSpreadOfTheErrors) {
  constexpr int kScenes = 150;
  double sum = 0.0;
  int beyond = 0;
  for (int i = 0; i < 4 * kScenes; ++i) {
    std::mt19937_64 rng = test::seeded("PoseCovariance", i);
    const CardScene scene =
        random_card_scene(test::kAllCards[static_cast<std::size_t>(i % 4)], rng);
    const CardPose pose = fit_card_pose(sighted(scene, 0.05, rng), scene.camera, {});
    const double square = normalised_square(pose, scene);
    sum += square;
    beyond += square > 12.592 ? 1 : 0;  // chi-square table: 5 % of 6 degrees of freedom
  }
  const double n = 4.0 * kScenes;
  EXPECT_NEAR(sum / n, 6.0, 3.0 * std::sqrt(12.0 / n) + 0.12);
  EXPECT_NEAR(beyond / n, 0.05, 3.0 * std::sqrt(0.05 * 0.95 / n) + 0.01);
}

// The same through the picture: rendered, blurred, with a phone's noise in poor light, found.
// Beside the noise the corners share about 0.01 px of what tone curve, 8 bits and rendering leave,
// so the mean square may be up to twice its ideal.
TEST(CardPoseProperty, TheCovarianceHoldsForRenderedCards) {
  constexpr int kScenes = 16;
  double sum = 0.0;
  for (int i = 0; i < kScenes; ++i) {
    std::mt19937_64 rng = test::seeded("RenderedPose", i);
    const CardScene scene = random_card_scene(CardKind::edge, rng);
    const cv::Mat photo =
        photo_of(scene, {.blur_px = 1.2, .read_noise = 0.015, .shot_noise = 0.03}, rng);
    const CardPose pose = fit_card_pose(require_card(photo, CardKind::edge, 40), scene.camera, {});
    EXPECT_LT(pose.rms_px, 0.2);
    sum += normalised_square(pose, scene);
  }
  EXPECT_LT(sum / kScenes, 12.0);
  EXPECT_GT(sum / kScenes, 6.0 - 3.0 * std::sqrt(12.0 / kScenes));
}

TEST(CardPoseProperty, AHalfHiddenCardHasAWiderButTruePose) {
  std::mt19937_64 rng = test::seeded("HalfHiddenPose", 0);
  const CardScene scene = random_card_scene(CardKind::edge, rng);
  FoundCard card = sighted(scene, 0.05, rng);
  const CardPose whole = fit_card_pose(card, scene.camera, {});
  const CardLayout& layout = card_layout(CardKind::edge);
  std::erase_if(card.corners, [&layout](const CardCorner& corner) {
    return layout.corners_mm[static_cast<std::size_t>(corner.index)].x() > 0.0;
  });
  const CardPose half = fit_card_pose(card, scene.camera, {});
  EXPECT_LT(half.corners, whole.corners);
  EXPECT_GT(half.covariance_corners.diagonal().sum(), whole.covariance_corners.diagonal().sum());
  EXPECT_LT(normalised_square(half, scene), 22.46);  // chi-square table: 0.1 % of 6
}

TEST(CardPoseProperty, StraysDoNotMoveThePose) {
  std::mt19937_64 rng = test::seeded("Strays", 0);
  const CardScene scene = random_card_scene(CardKind::edge, rng);
  FoundCard card = sighted(scene, 0.05, rng);
  for (std::size_t i = 0; i < 10; ++i) card.corners[7 * i].q_px += Eigen::Vector2d(3.0, -2.0);
  const CardPose pose = fit_card_pose(card, scene.camera, {});
  EXPECT_EQ(pose.rejected, 10);
  EXPECT_LT(normalised_square(pose, scene), 22.46);
}

FoundCard on_uneven_print(CardScene& scene, double along, double across, std::mt19937_64& rng) {
  scene.print_along = along;
  scene.print_across = across;
  return sighted(scene, 0.05, rng);
}

// A printer that shrinks along the page and stretches across it. Both bars given: the pose is true.
// None given: the pose is off by more than it says, and the corners do not fit.
TEST(CardPoseProperty, ThePrintedBarCorrectsAlongAndAcross) {
  for (int i = 0; i < 10; ++i) {
    std::mt19937_64 rng = test::seeded("PrintedBar", i);
    CardScene scene = random_card_scene(CardKind::side, rng);
    const FoundCard card = on_uneven_print(scene, 0.9990, 1.0007, rng);
    const CardPose corrected =
        fit_card_pose(card, scene.camera, {.along = 0.9990, .across = 1.0007, .u = 0.0002});
    EXPECT_LT(normalised_square(corrected, scene), 22.46) << i;
    EXPECT_NEAR(corrected.rms_px, 0.05 * std::sqrt(2.0), 0.02);
    const CardPose uncorrected = fit_card_pose(card, scene.camera, {});
    EXPECT_GT(uncorrected.rms_px, 2.0 * corrected.rms_px);
    EXPECT_GT(normalised_square(uncorrected, scene), 22.46);
  }
}

TEST(CardPoseProperty, AnEvenShrinkMovesTheDistanceByAsMuch) {
  std::mt19937_64 rng = test::seeded("EvenShrink", 0);
  CardScene scene = random_card_scene(CardKind::edge, rng);
  scene.print_along = scene.print_across = 0.97;
  const FoundCard card = sighted(scene, 0.0, rng);
  const auto distance = [&](const PrintScale& scale) {
    return fit_card_pose(card, scene.camera, scale).T_camera_card.matrix.translation().norm();
  };
  const double truth = scene.T_camera_card.matrix.translation().norm();
  EXPECT_NEAR(distance({.along = 0.97, .across = 0.97}), truth, 1e-4);
  EXPECT_NEAR(distance({}), truth / 0.97, 1e-4);
}

std::string refusal(const FoundCard& card, const CameraModel& camera) {
  try {
    fit_card_pose(card, camera, {});
  } catch (const Error& error) {
    return error.what();
  }
  return "not refused";
}

TEST(CardPoseBadInput, AVeryUnevenPrintIsRefusedUntilItsBarsAreGiven) {
  std::mt19937_64 rng = test::seeded("UnevenPrint", 0);
  CardScene scene = random_card_scene(CardKind::side, rng);
  const FoundCard card = on_uneven_print(scene, 0.995, 1.003, rng);
  EXPECT_THROW(fit_card_pose(card, scene.camera, {}), Error);
  const CardPose pose = fit_card_pose(card, scene.camera, {.along = 0.995, .across = 1.003});
  EXPECT_LT(normalised_square(pose, scene), 22.46);
}

TEST(CardPoseBadInput, TooFewCornersOneRowAndABentCard) {
  std::mt19937_64 rng = test::seeded("BadPose", 0);
  const CardScene scene = random_card_scene(CardKind::edge, rng);
  const FoundCard card = sighted(scene, 0.02, rng);
  FoundCard few = card;
  few.corners.resize(7);
  EXPECT_THAT(refusal(few, scene.camera), HasSubstr("7 corners, 8 are needed"));
  FoundCard row = card;
  row.corners.resize(25);
  EXPECT_THAT(refusal(row, scene.camera), HasSubstr("nearly in one line"));

  FoundCard bent = card;
  for (CardCorner& corner : bent.corners) {
    const Eigen::Vector2d& p =
        card_layout(CardKind::edge).corners_mm[static_cast<std::size_t>(corner.index)];
    // A bow of 5 mm along the card.
    const Eigen::Vector3d on_bow(p.x(), p.y(), 5.0 * (1.0 - std::pow(p.x() / 120.0, 2.0)));
    corner.q_px = project(scene.camera, scene.T_camera_card * Point<Card>{on_bow});
  }
  EXPECT_THAT(refusal(bent, scene.camera),
              HasSubstr("bent: over the 100 corners found its middle stands up by 5.0 mm"));
}

}  // namespace
}  // namespace evenbevel
