#include <array>

#include <gtest/gtest.h>

#include "evenbevel/finish_view.hpp"

namespace evenbevel {
namespace {

struct Limits {
  int count;
  double low, high;
};

// 95 % limits of a Poisson mean: E. S. Pearson, H. O. Hartley, Biometrika Tables for Statisticians,
// vol. 1, table 40 (from memory).
constexpr std::array kTable = {Limits{0, 0.0, 3.69},     Limits{1, 0.0253, 5.57},
                               Limits{2, 0.242, 7.22},   Limits{5, 1.62, 11.67},
                               Limits{10, 4.80, 18.39},  Limits{20, 12.22, 30.89},
                               Limits{30, 20.24, 42.83}, Limits{50, 37.11, 65.92}};

TEST(FinishCountOutside, PoissonLimitsOfTheHandbook) {
  for (const Limits& row : kTable) {
    const Between found = poisson_interval(row.count);
    EXPECT_EQ(found.value, row.count);
    EXPECT_NEAR(found.low, row.low, 0.006) << row.count;  // their last digit
    EXPECT_NEAR(found.high, row.high, 0.006) << row.count;
  }
}

TEST(FinishCountClosedForm, MissedAndFalseOnesWidenTheInterval) {
  const Between plain = poisson_interval(12), wide = count_interval(12, 0.2, 0.5);
  EXPECT_DOUBLE_EQ(wide.low, plain.low - 0.5);
  EXPECT_DOUBLE_EQ(wide.high, plain.high / 0.8);
  EXPECT_EQ(count_interval(0, 0.1, 1.0).low, 0.0);
}

}  // namespace
}  // namespace evenbevel
