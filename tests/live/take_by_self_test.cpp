#include <gtest/gtest.h>

#include "evenbevel/live_view.hpp"

namespace evenbevel {
namespace {

constexpr double kFrame_s = 1.0 / 30.0;

/// A card of 40 corners at a place.
LiveLook look_at(double x_px, double y_px) {
  LiveLook look;
  FoundCard card;
  for (int i = 0; i < 40; ++i) {
    card.corners.push_back({i, Eigen::Vector2d(x_px + 50.0 * (i % 8), y_px + 50.0 * (i / 8))});
  }
  look.card = card;
  look.placed = true;
  look.seen = 1.0;
  return look;
}

/// Frames of one look from a time on. @return  When the photo was taken; below 0: it was not.
double watch(TakeBySelf& take, double& now_s, double for_s, const LiveLook& look,
             bool well = true) {
  const double end_s = now_s + for_s;
  double taken_s = -1.0;
  for (; now_s < end_s; now_s += kFrame_s) {
    if (take.see(now_s, well, true, look)) taken_s = now_s;
  }
  return taken_s;
}

TEST(TakeBySelfClosedForm, ItIsTakenOnceAfterASecondOfStillness) {
  TakeBySelf take;
  double now_s = 5.0;
  const double taken_s = watch(take, now_s, 10.0, look_at(100, 100));
  EXPECT_NEAR(taken_s, 6.0, 2.0 * kFrame_s);
  EXPECT_FALSE(take.armed());
}

TEST(TakeBySelfClosedForm, NothingIsTakenWhileItMovesOrIsNotWell) {
  TakeBySelf take;
  double now_s = 0.0;
  for (int i = 0; i < 90; ++i, now_s += kFrame_s) {
    EXPECT_FALSE(take.see(now_s, true, true, look_at(100.0 + 0.5 * i, 100)));
  }
  EXPECT_LT(watch(take, now_s, 5.0, look_at(400, 100), false), 0.0);
  LiveLook none;
  EXPECT_LT(watch(take, now_s, 5.0, none), 0.0);
}

TEST(TakeBySelfClosedForm, StillButNotReadyItWaits) {
  TakeBySelf take;
  const LiveLook look = look_at(100, 100);
  double now_s = 0.0;
  for (; now_s < 4.0; now_s += kFrame_s) EXPECT_FALSE(take.see(now_s, true, false, look));
  EXPECT_NEAR(take.still_s(), 4.0, 3.0 * kFrame_s);
  EXPECT_TRUE(take.see(now_s, true, true, look));
}

TEST(TakeBySelfClosedForm, WhatNobodyWatchedWasNotStill) {
  TakeBySelf take;
  const LiveLook look = look_at(100, 100);
  double now_s = 0.0;
  EXPECT_LT(watch(take, now_s, 0.6, look), 0.0);
  now_s += 60.0;
  const double begun_s = now_s;
  EXPECT_NEAR(watch(take, now_s, 3.0, look), begun_s + 1.0, 3.0 * kFrame_s);
}

TEST(TakeBySelfClosedForm, ASlowDriftIsNotStill) {
  TakeBySelf take;
  double now_s = 0.0;
  // 0.02 px a frame: each step is small, a second of them is not.
  for (int i = 0; i < 300; ++i, now_s += kFrame_s) {
    EXPECT_FALSE(take.see(now_s, true, true, look_at(100.0 + 0.02 * i, 100))) << i;
  }
}

TEST(TakeBySelfClosedForm, TheNextBladeIsTakenOnceTheCardWasTouched) {
  TakeBySelf take;
  double now_s = 0.0;
  ASSERT_GT(watch(take, now_s, 3.0, look_at(100, 100)), 0.0);
  // A hand over a part of it for a moment changes nothing: the same blade still lies there.
  LiveLook none;
  EXPECT_LT(watch(take, now_s, 0.2, none), 0.0);
  EXPECT_LT(watch(take, now_s, 3.0, look_at(100, 100)), 0.0);
  // Lifted off and laid down again, 8 px beside.
  EXPECT_LT(watch(take, now_s, 2.0, none), 0.0);
  EXPECT_GT(watch(take, now_s, 3.0, look_at(108, 100)), 0.0);
  EXPECT_LT(watch(take, now_s, 3.0, look_at(108, 100)), 0.0);
}

TEST(TakeBySelfClosedForm, MovedIsTheMiddleCornersMove) {
  const FoundCard before = *look_at(100, 100).card;
  FoundCard after = *look_at(103, 104).card;
  after.corners[3].q_px.x() += 500.0;  // a stray
  EXPECT_NEAR(moved_px(before, after).value(), 5.0, 1e-9);
  after.corners.resize(7);
  EXPECT_FALSE(moved_px(before, after));
}

}  // namespace
}  // namespace evenbevel
