#include "fit/envelope.hpp"

#include <algorithm>

#include <Eigen/Cholesky>
#include <gtest/gtest.h>

#include "seeded.hpp"

namespace evenbevel {
namespace {

TEST(EnvelopeClosedForm, SecondDifferencesOfAConstantAreItsEndsAlone) {
  const std::vector<int> first = {0, 0, 1, 2};
  EnvelopeSystem system(first, 0);
  for (int i = 0; i < 4; ++i) {
    system.at(i, i) = 2.0;
    if (i > 0) system.at(i, i - 1) = -1.0;
  }
  Eigen::VectorXd x(4);
  x << 3.0, 0.0, 0.0, 3.0;
  system.solve(x);
  for (int i = 0; i < 4; ++i) EXPECT_NEAR(x[i], 3.0, 1e-14);
}

TEST(EnvelopeProperty, AnySuchSystemIsSolvedAsDenseAlgebraSolvesIt) {
  constexpr int kSize = 40, kFull = 5;  // The border.
  for (int scene = 0; scene < 20; ++scene) {
    std::mt19937_64 rng = test::seeded("EnvelopeProperty", scene);
    std::vector<int> first;
    for (int i = 0; i < kSize; ++i) {
      const int reach = static_cast<int>(test::uniform(rng, 0.0, 6.0));
      first.push_back(i >= kSize - kFull ? 0 : std::max(0, i - reach));
    }
    EnvelopeSystem system({first.begin(), first.end() - kFull}, kFull);
    Eigen::MatrixXd dense = Eigen::MatrixXd::Zero(kSize, kSize);
    for (int i = 0; i < kSize; ++i) {
      for (int k = first[static_cast<std::size_t>(i)]; k <= i; ++k) {
        const double value = i == k ? 20.0 : test::uniform(rng, -1.0, 1.0);
        system.at(i, k) += value;
        dense(i, k) = value;
      }
    }
    Eigen::VectorXd right(kSize);
    for (double& value : right) value = test::normal(rng);
    const Eigen::VectorXd expected = dense.selfadjointView<Eigen::Lower>().llt().solve(right);
    system.solve(right);
    EXPECT_LT((right - expected).cwiseAbs().maxCoeff(), 1e-14);  // A few roundings of 0.05.
  }
}

}  // namespace
}  // namespace evenbevel
