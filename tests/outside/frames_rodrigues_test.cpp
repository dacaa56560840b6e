// Turns by a rotation vector against OpenCV's (calib3d 4.6): cv::Rodrigues with its derivative.

#include <gtest/gtest.h>
#include <opencv2/calib3d.hpp>
#include <opencv2/core/eigen.hpp>

#include "evenbevel/frames.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

using test::uniform;

Eigen::Vector3d random_vector(std::mt19937_64& rng, double reach) {
  return {uniform(rng, -reach, reach), uniform(rng, -reach, reach), uniform(rng, -reach, reach)};
}

Eigen::Matrix3d rodrigues(const Eigen::Vector3d& w) {
  cv::Matx33d R;
  cv::Rodrigues(cv::Vec3d(w.x(), w.y(), w.z()), R);
  Eigen::Matrix3d out;
  cv::cv2eigen(R, out);
  return out;
}

TEST(PoseStepOutside, TurnsAreThoseOfRodrigues) {
  std::mt19937_64 rng = test::seeded("PoseStepOutside", 0);
  for (const double reach : {1e-9, 1e-4, 0.1, 1.0, 3.0}) {
    for (int i = 0; i < 50; ++i) {
      const Eigen::Vector3d w = random_vector(rng, reach);
      EXPECT_LT((turn_by(w) - rodrigues(w)).norm(), 1e-14) << w.transpose();
    }
  }
}

// A point turned by a small vector on top of a pose, differentiated by OpenCV at no turn: its
// Rodrigues derivative at 0 times the posed point.
TEST(PoseStepOutside, ThePointsDerivativeIsThatOfRodriguesAtNoTurn) {
  cv::Matx33d R;
  cv::Mat jacobian;  // 3 x 9: the matrix, row by row, by the vector
  cv::Rodrigues(cv::Vec3d(0.0, 0.0, 0.0), R, jacobian);
  std::mt19937_64 rng = test::seeded("PoseStepOutside", 1);
  for (int i = 0; i < 50; ++i) {
    Transform<Camera, Card> T;
    T.matrix.linear() = rodrigues(random_vector(rng, 2.0));
    const Point<Card> p{random_vector(rng, 150.0)};
    const Eigen::Vector3d arm = T.matrix.linear() * p.mm;
    const Eigen::Matrix<double, 3, 6> J = point_by_step(T, p);
    for (int k = 0; k < 3; ++k) {
      for (int row = 0; row < 3; ++row) {
        double theirs = 0.0;
        for (int c = 0; c < 3; ++c) theirs += jacobian.at<double>(k, 3 * row + c) * arm(c);
        EXPECT_NEAR(J(row, k), theirs, 1e-12);
      }
    }
  }
}

}  // namespace
}  // namespace evenbevel
