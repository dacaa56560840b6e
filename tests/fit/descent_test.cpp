#include "fit/descent.hpp"

#include <cmath>
#include <vector>

#include <gtest/gtest.h>

namespace evenbevel {
namespace {

/// The lowest point of (x^2 - 4)^2 / 8, whose slope is x (x^2 - 4) / 2.
struct Valley {
  double x = 0.5, slope = 0.0, bend = 0.0;
  std::vector<int> rounds = {};
  std::vector<double> dampings = {};

  static double height(double x) { return std::pow(x * x - 4.0, 2) / 8.0; }

  void linearise(int round) {
    rounds.push_back(round);
    slope = 0.5 * x * (x * x - 4.0);
    bend = x * x;  // of the squares alone, as Gauss and Newton have it
  }
  Tried attempt(double damping) {
    dampings.push_back(damping);
    const double step = -slope / (bend * (1.0 + damping));
    if (height(x + step) >= height(x)) return Tried::left;
    x += step;
    return std::abs(step) < 1e-9 ? Tried::settled : Tried::taken;
  }
  Descended run(const Damping& rules) {
    return descend(
        rules, [&](int round) { linearise(round); },
        [&](double damping) { return attempt(damping); });
  }
};

TEST(DescentClosedForm, ItGoesToTheBottom) {
  Valley valley;
  EXPECT_EQ(valley.run({}), Descended::settled);
  EXPECT_NEAR(valley.x, 2.0, 1e-8);
}

// From 0.5 the full step, 3.75, leads up the far side, from 1.8 to 10.8; half of it leads down.
TEST(DescentClosedForm, DampingFollowsWhatTheStepsBring) {
  Valley bold;
  bold.run({.start = 0.01, .eased = 0.5, .stiffened = 100.0, .least = 0.2});
  ASSERT_GT(bold.dampings.size(), 4U);
  EXPECT_EQ(bold.dampings[1], 1.0) << "not taken: damped more";
  EXPECT_EQ(bold.dampings[2], 0.5) << "taken: damped less";
  EXPECT_EQ(bold.dampings.back(), 0.2) << "no less than said";
}

// Each linearisation serves until a step from it was taken.
TEST(DescentClosedForm, RoundsAttemptsAndStepsAreCounted) {
  int rounds = 0, attempts = 0;
  const auto linearise = [&](int) { ++rounds; };
  const auto never = [&](double) { return ++attempts, Tried::left; };
  EXPECT_EQ(descend({.attempts = 8}, linearise, never), Descended::stuck);
  EXPECT_EQ(rounds, 1);
  EXPECT_EQ(attempts, 8);
  attempts = 0;
  EXPECT_EQ(descend({.steps = 15}, linearise, never), Descended::stuck);
  EXPECT_EQ(attempts, 15);
  attempts = 0;
  EXPECT_EQ(descend({.start = 1.0, .stiffened = 10.0, .most = 1e3}, linearise, never),
            Descended::stuck);
  EXPECT_EQ(attempts, 3);
  const auto always = [&](double) { return Tried::taken; };
  rounds = 0;
  EXPECT_EQ(descend({.rounds = 5}, linearise, always), Descended::unfinished);
  EXPECT_EQ(rounds, 5);
}

TEST(DescentBadInput, WithoutAStepItFails) {
  EXPECT_EQ(descend(
                {}, [](int) {}, [](double) { return Tried::failed; }),
            Descended::failed);
}

}  // namespace
}  // namespace evenbevel
