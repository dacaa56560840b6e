#include "fit/dense.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace evenbevel {
namespace {

TEST(DenseClosedForm, ASystemOfVeryUnequalUnknownsIsSolvedToTheLastDigits) {
  // 3 x + 1e-6 y = 5, 1e-6 x + 2e-12 y = 3e-6: x = 7/5, y = 8e5.
  Eigen::Matrix2d A;
  A << 3.0, 1e-6, 1e-6, 2e-12;
  const Eigen::VectorXd x = solved(A, Eigen::Vector2d(5.0, 3e-6));
  EXPECT_NEAR(x(0), 1.4, 1e-13);
  EXPECT_NEAR(x(1), 8e5, 1e-7);
  const Eigen::MatrixXd inverse = SymmetricSystem(A).inverse();
  EXPECT_NEAR(inverse(0, 0), 0.4, 1e-14);
  EXPECT_NEAR(inverse(0, 1), -2e5, 1e-8);
  EXPECT_NEAR(inverse(1, 1), 6e11, 1e-2);
}

TEST(DenseClosedForm, AnUnknownThatNothingTellsOfStays) {
  Eigen::Matrix2d A = Eigen::Matrix2d::Zero();
  A(0, 0) = 4.0;
  const Eigen::VectorXd x = solved(A, Eigen::Vector2d(8.0, 0.0));
  EXPECT_DOUBLE_EQ(x(0), 2.0);
  EXPECT_EQ(x(1), 0.0);
}

TEST(DenseClosedForm, SumsOfALineGiveItsLeastSquares) {
  // y = 1 + 2 x at x = 0, 1, 2, the last off by 3 at a weight of 1/2.
  NormalSums sums(2);
  for (int i = 0; i < 3; ++i) {
    sums.add(Eigen::RowVector2d(1.0, i),
             Eigen::Matrix<double, 1, 1>(1.0 + 2.0 * i + (i == 2 ? 3.0 : 0.0)), i == 2 ? 0.5 : 1.0);
  }
  // Normal equations by hand: 2.5 a + 2 b = 8; 2 a + 3 b = 11.
  const Eigen::VectorXd x = solved(sums.A, sums.b);
  EXPECT_NEAR(x(0), 4.0 / 7.0, 1e-14);
  EXPECT_NEAR(x(1), 23.0 / 7.0, 1e-14);
}

TEST(DenseClosedForm, ARootsOuterProductIsTheCovarianceThoughItIsSingular) {
  Eigen::Matrix3d covariance;
  covariance << 1.0, 2e3, 0.0, 2e3, 4e6, 0.0, 0.0, 0.0, 1e-8;
  const Eigen::MatrixXd root = root_of(covariance);
  EXPECT_TRUE((root * root.transpose()).isApprox(covariance, 1e-12));
  EXPECT_TRUE((root * root.transpose() - covariance).row(2).isZero(1e-20));
}

}  // namespace
}  // namespace evenbevel
