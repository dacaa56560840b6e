#include "side_view/cues.hpp"

#include <gtest/gtest.h>

namespace evenbevel::side {
namespace {

TEST(SideCuesClosedForm, AStepOnASlopeIsFoundWithItsSize) {
  std::vector<double> values;
  for (int i = 0; i < 40; ++i) values.push_back(0.01 * i + (i >= 20 ? 0.5 : 0.0));
  const Moments moments(values);
  const Step at_it = step_on_slope(moments.window(8, 20), moments.window(20, 32), 1e-6);
  EXPECT_NEAR(at_it.size, 0.5, 1e-9);
  const Step beside = step_on_slope(moments.window(4, 16), moments.window(16, 28), 1e-6);
  EXPECT_GT(at_it.gain, beside.gain + 10.0);
}

TEST(SideCuesClosedForm, AMereSlopeIsNoStep) {
  std::vector<double> values;
  for (int i = 0; i < 40; ++i) values.push_back(0.3 - 0.02 * i);
  const Moments moments(values);
  const Step step = step_on_slope(moments.window(8, 20), moments.window(20, 32), 1e-6);
  EXPECT_NEAR(step.size, 0.0, 1e-9);
  EXPECT_NEAR(step.gain, 0.0, 1e-3);
}

}  // namespace
}  // namespace evenbevel::side
