#include <vector>

#include <gtest/gtest.h>

#include "evenbevel/fit.hpp"

namespace evenbevel {
namespace {

// W. Gander, G. H. Golub and R. Strebel, BIT 34 (1994), 558-578: geometric fit, centre
// (4.7398, 2.9835), radius 4.7142. The linear fit of the same points, (4.7423, 3.8351) and 4.1088,
// is another circle.
TEST(CircleOutside, GanderGolubAndStrebelSixPoints) {
  const std::vector<Eigen::Vector2d> points{{1, 7}, {2, 6}, {5, 8}, {7, 7}, {9, 5}, {3, 7}};
  const CircleFit circle = fit_circle(points);
  EXPECT_NEAR(circle.centre.x(), 4.7398, 0.00005);  // half of the last printed digit
  EXPECT_NEAR(circle.centre.y(), 2.9835, 0.00005);
  EXPECT_NEAR(circle.radius, 4.7142, 0.00005);
  EXPECT_NEAR(circle.sigma * circle.sigma * 3.0, 1.2276, 0.00005);  // recomputed with scipy
}

}  // namespace
}  // namespace evenbevel
