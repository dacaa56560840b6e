// A camera's focus, held: against cameras that do what they are told, and others.

#include <map>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <opencv2/imgproc.hpp>
#include <opencv2/videoio.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/live.hpp"
#include "evenbevel/media.hpp"

namespace evenbevel {
namespace {

using testing::HasSubstr;

/// A camera whose lens stands at 120 and which refuses what it is told to refuse.
class FakeCamera : public VideoStream {
 public:
  bool refuses_autofocus = false;  ///< Says that it did, and goes on focusing.
  bool has_focus = true;

  bool read(cv::Mat&) override { return false; }
  bool set(int property, double value) override {
    if (property == cv::CAP_PROP_FOCUS && !has_focus) return false;
    if (property == cv::CAP_PROP_AUTOFOCUS && refuses_autofocus) return true;
    values_[property] = value;
    return true;
  }
  double get(int property) const override {
    const auto found = values_.find(property);
    return found == values_.end() ? 0.0 : found->second;
  }

 private:
  std::map<int, double> values_ = {{cv::CAP_PROP_AUTOFOCUS, 1.0}, {cv::CAP_PROP_FOCUS, 120.0}};
};

TEST(FocusLockClosedForm, ItStaysWhereItWas) {
  FakeCamera camera;
  const FocusLock lock = lock_focus(camera);
  EXPECT_TRUE(lock.locked);
  EXPECT_EQ(lock.refused, "");
  EXPECT_EQ(camera.get(cv::CAP_PROP_AUTOFOCUS), 0.0);
  EXPECT_EQ(camera.get(cv::CAP_PROP_FOCUS), 120.0);
}

TEST(FocusLockBadInput, WhatACameraRefusesIsSaid) {
  FakeCamera goes_on;
  goes_on.refuses_autofocus = true;
  EXPECT_FALSE(lock_focus(goes_on).locked);
  EXPECT_THAT(lock_focus(goes_on).refused, HasSubstr("autofocus"));
  FakeCamera no_focus;
  no_focus.has_focus = false;
  EXPECT_FALSE(lock_focus(no_focus).locked);
  EXPECT_THAT(lock_focus(no_focus).refused, HasSubstr("focus stands"));
}

TEST(FrameAverageClosedForm, TheMeanOfStillFramesIsTakenAndMovedOnesLeftOut) {
  cv::Mat first(240, 320, CV_8UC3);
  cv::RNG random(3);
  random.fill(first, cv::RNG::UNIFORM, 0, 250);
  cv::GaussianBlur(first, first, {}, 3.0);
  FrameAverage average;
  average.add(first);
  average.add(first + cv::Scalar(2, 2, 2));
  cv::Mat shifted;
  cv::copyMakeBorder(first, shifted, 0, 0, 20, 0, cv::BORDER_REPLICATE);
  average.add(shifted(cv::Rect(0, 0, 320, 240)));
  EXPECT_EQ(average.seen(), 3);
  const Photo photo = average.photo("a camera", 3);
  ASSERT_EQ(photo.pixels.type(), CV_16UC3);
  const auto seen = photo.pixels.at<cv::Vec3w>(100, 100);
  const auto was = first.at<cv::Vec3b>(100, 100);
  for (int c = 0; c < 3; ++c) EXPECT_NEAR(seen[c] / 257.0, was[c] + 1.0, 0.01);
  ASSERT_EQ(photo.warnings.size(), 1U) << "one frame left out";
}

TEST(FrameAverageBadInput, NoFrameOrOnlyMovingOnesAreRefused) {
  EXPECT_THROW(FrameAverage().photo("a camera", 16), Error);
}

}  // namespace
}  // namespace evenbevel
