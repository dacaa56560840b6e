#include <cmath>

#include <gtest/gtest.h>

#include "evenbevel/fit.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

TEST(LeastSquaresClosedForm, ALinearModelIsSolvedInOneStepOrTwo) {
  Eigen::MatrixXd design(4, 2);
  design << 1, 0, 1, 1, 1, 2, 1, 3;
  const Eigen::Vector4d y(1.0, 3.0, 5.0, 7.0);
  const LeastSquaresFit fit = least_squares(
      [&](const Eigen::VectorXd& p, Eigen::VectorXd& r, Eigen::MatrixXd* jacobian) {
        r = design * p - y;
        if (jacobian != nullptr) *jacobian = design;
      },
      Eigen::Vector2d(-50.0, 1e4), 4);
  EXPECT_TRUE(fit.converged);
  EXPECT_NEAR(fit.parameters(0), 1.0, 1e-10);
  EXPECT_NEAR(fit.parameters(1), 2.0, 1e-10);
}

// The banana valley r = (10 (b - a^2), 1 - a): H. H. Rosenbrock, Computer Journal 3 (1960),
// 175-184.
TEST(LeastSquaresClosedForm, RosenbrocksValley) {
  const LeastSquaresFit fit = least_squares(
      [](const Eigen::VectorXd& p, Eigen::VectorXd& r, Eigen::MatrixXd* jacobian) {
        r << 10.0 * (p(1) - p(0) * p(0)), 1.0 - p(0);
        if (jacobian != nullptr) *jacobian << -20.0 * p(0), 10.0, -1.0, 0.0;
      },
      Eigen::Vector2d(-1.2, 1.0), 2);
  EXPECT_TRUE(fit.converged);
  EXPECT_NEAR(fit.parameters(0), 1.0, 1e-10);
  EXPECT_NEAR(fit.parameters(1), 1.0, 1e-10);
  EXPECT_EQ(fit.dof, 0.0);
  EXPECT_EQ(fit.sigma, 0.0);
}

TEST(LeastSquaresProperty, StatedUncertaintyIsTheSpreadOverScenes) {
  constexpr int kScenes = 2000, kReadings = 40;
  double sum_z2 = 0.0;
  for (int scene = 0; scene < kScenes; ++scene) {
    std::mt19937_64 rng = test::seeded("LeastSquaresProperty", scene);
    Eigen::VectorXd y(kReadings);
    for (int i = 0; i < kReadings; ++i) {
      y(i) = 5.0 * std::exp(-0.1 * i) + 0.05 * test::normal(rng);
    }
    const LeastSquaresFit fit = least_squares(
        [&](const Eigen::VectorXd& p, Eigen::VectorXd& r, Eigen::MatrixXd* jacobian) {
          for (int i = 0; i < kReadings; ++i) {
            const double decay = std::exp(-p(1) * i);
            r(i) = p(0) * decay - y(i);
            if (jacobian != nullptr) jacobian->row(i) << decay, -p(0) * i * decay;
          }
        },
        Eigen::Vector2d(3.0, 0.2), kReadings);
    sum_z2 += std::pow(fit.parameters(1) - 0.1, 2) / fit.covariance(1, 1);
  }
  EXPECT_NEAR(std::sqrt(sum_z2 / kScenes), 1.03, 0.05);  // 3 / sqrt(2 kScenes); t with 38 dof
}

TEST(LeastSquaresBadInput, AParameterWithoutEffectStaysWhereItWas) {
  const LeastSquaresFit fit = least_squares(
      [](const Eigen::VectorXd& p, Eigen::VectorXd& r, Eigen::MatrixXd* jacobian) {
        r << p(0) - 1.0, p(0) - 3.0, p(0) - 2.0;
        if (jacobian != nullptr) *jacobian << 1.0, 0.0, 1.0, 0.0, 1.0, 0.0;
      },
      Eigen::Vector2d(0.0, 7.0), 3);
  EXPECT_NEAR(fit.parameters(0), 2.0, 1e-10);
  EXPECT_NEAR(fit.parameters(1), 7.0, 1e-10);
  EXPECT_TRUE(fit.covariance.allFinite());
}

}  // namespace
}  // namespace evenbevel
