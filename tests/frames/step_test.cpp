// The one step that poses take: closed form, and its derivatives against differences.

#include <cmath>

#include <gtest/gtest.h>

#include "evenbevel/frames.hpp"
#include "evenbevel/units.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

using test::uniform;

Eigen::Vector3d random_vector(std::mt19937_64& rng, double reach) {
  return {uniform(rng, -reach, reach), uniform(rng, -reach, reach), uniform(rng, -reach, reach)};
}

Transform<Camera, Card> random_pose(std::mt19937_64& rng) {
  Transform<Camera, Card> T;
  T.matrix.linear() = turn_by(random_vector(rng, 2.0));
  T.matrix.translation() = random_vector(rng, 300.0);
  return T;
}

PoseStep unit_step(int k, double size) { return size * PoseStep::Unit(k); }

TEST(PoseStepClosedForm, AQuarterTurnAboutZTakesXToY) {
  const Eigen::Matrix3d R = turn_by({0.0, 0.0, 0.5 * kPi});
  EXPECT_LT((R * Eigen::Vector3d::UnitX() - Eigen::Vector3d::UnitY()).norm(), 1e-15);
  EXPECT_LT((R * Eigen::Vector3d::UnitZ() - Eigen::Vector3d::UnitZ()).norm(), 1e-15);
}

TEST(PoseStepClosedForm, NoStepLeavesThePoseAsItIs) {
  std::mt19937_64 rng = test::seeded("PoseStepNone", 0);
  const Transform<Camera, Card> T = random_pose(rng);
  EXPECT_EQ(stepped(T, PoseStep::Zero()).matrix.matrix(), T.matrix.matrix());
}

// By hand: the card's axes lie along the camera's, its origin 200 mm ahead. A quarter turn about
// the camera's z on the left takes the card's x to the camera's y; the origin only takes the shift.
TEST(PoseStepClosedForm, TurnsAboutTheFromFramesOriginAndThenShifts) {
  Transform<Camera, Card> T;
  T.matrix.translation() = Eigen::Vector3d(10.0, 20.0, 200.0);
  PoseStep step;
  step << 0.0, 0.0, 0.5 * kPi, 1.0, 2.0, 3.0;
  const Transform<Camera, Card> moved = stepped(T, step);
  const Point<Camera> origin = moved * Point<Card>{};
  const Point<Camera> on_x = moved * Point<Card>{{5.0, 0.0, 0.0}};
  EXPECT_LT((origin.mm - Eigen::Vector3d(11.0, 22.0, 203.0)).norm(), 1e-12);
  EXPECT_LT((on_x.mm - Eigen::Vector3d(11.0, 27.0, 203.0)).norm(), 1e-12);
}

TEST(PoseStepProperty, TheTurnStaysARotationHoweverSmallOrLarge) {
  std::mt19937_64 rng = test::seeded("PoseStepRotation", 0);
  for (const double reach : {0.0, 1e-300, 1e-160, 1e-12, 1e-3, 1.0, 50.0}) {
    const Eigen::Matrix3d R = turn_by(random_vector(rng, reach));
    EXPECT_LT((R * R.transpose() - Eigen::Matrix3d::Identity()).norm(), 1e-14) << reach;
    EXPECT_NEAR(R.determinant(), 1.0, 1e-14) << reach;
  }
}

TEST(PoseStepProperty, TheStepBackUndoesIt) {
  std::mt19937_64 rng = test::seeded("PoseStepBack", 0);
  for (int i = 0; i < 100; ++i) {
    const Transform<Camera, Card> T = random_pose(rng);
    PoseStep step;
    step << random_vector(rng, 1.0), random_vector(rng, 50.0);
    const Transform<Camera, Card> back = stepped(stepped(T, step), -step);
    EXPECT_LT((back.matrix.matrix() - T.matrix.matrix()).norm(), 1e-12);
  }
}

// Central differences over 2e-4 rad or mm: what they leave out is a 6th of the step's square, some
// 2e-9 of arms up to 500 mm; rounding is 1e-13 / 1e-4.
constexpr double kStep = 1e-4, kClose = 2e-6;

TEST(PoseStepProperty, APointMovesAsItsDerivativeSays) {
  std::mt19937_64 rng = test::seeded("PoseStepPoint", 0);
  for (int i = 0; i < 50; ++i) {
    const Transform<Camera, Card> T = random_pose(rng);
    const Point<Card> p{random_vector(rng, 150.0)};
    const Eigen::Matrix<double, 3, 6> J = point_by_step(T, p);
    for (int k = 0; k < 6; ++k) {
      const Eigen::Vector3d there = (stepped(T, unit_step(k, kStep)) * p).mm;
      const Eigen::Vector3d back = (stepped(T, unit_step(k, -kStep)) * p).mm;
      EXPECT_LT((J.col(k) - (there - back) / (2.0 * kStep)).norm(), kClose) << k;
    }
  }
}

TEST(PoseStepProperty, TheOtherFramesOriginMovesAsItsDerivativeSays) {
  std::mt19937_64 rng = test::seeded("PoseStepOrigin", 0);
  for (int i = 0; i < 50; ++i) {
    const Transform<Camera, Card> T = random_pose(rng);
    const Eigen::Matrix<double, 3, 6> J = origin_by_step(T);
    for (int k = 0; k < 6; ++k) {
      const Point<Card> there = stepped(T, unit_step(k, kStep)).inverse() * Point<Camera>{};
      const Point<Card> back = stepped(T, unit_step(k, -kStep)).inverse() * Point<Camera>{};
      EXPECT_LT((J.col(k) - (there.mm - back.mm) / (2.0 * kStep)).norm(), kClose) << k;
    }
  }
}

// To first order: what is left goes with the square of the turn, 150 mm x 1e-10 / 2.
TEST(PoseStepProperty, ATurnAboutAPointLeavesThatPointWhereItIs) {
  std::mt19937_64 rng = test::seeded("PoseStepAbout", 0);
  for (int i = 0; i < 50; ++i) {
    const Transform<Camera, Card> T = random_pose(rng);
    const Point<Card> p{random_vector(rng, 80.0)};
    const Eigen::Vector3d turn = random_vector(rng, 1e-5 / std::sqrt(3.0));
    const Transform<Camera, Card> turned = stepped(T, step_by_turn_about(T, p) * turn);
    EXPECT_LT(((turned * p).mm - (T * p).mm).norm(), 1e-8);
    EXPECT_TRUE(turned.matrix.linear().isApprox(turn_by(turn) * T.matrix.linear(), 1e-14));
  }
}

}  // namespace
}  // namespace evenbevel
