#include "evenbevel/live.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <opencv2/core.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "evenbevel/error.hpp"
#include "scratch_folder.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

using ::testing::HasSubstr;

const cv::Size kFrameSize{640, 480};
constexpr double kNoise = 5.0;  // grey levels, a USB camera indoors

/// Soft blobs on grey, off the picture's edges, moved by `shift_px`.
cv::Mat scene(double shift_px) {
  cv::Mat grey(kFrameSize, CV_32F, cv::Scalar(90.0));
  std::mt19937_64 rng = test::seeded("LiveScene", 0);
  for (int i = 0; i < 60; ++i) {
    const cv::Point2d at(test::uniform(rng, 20, 600), test::uniform(rng, 20, 460));
    constexpr int kFraction = 8;  // bits below a pixel that OpenCV draws with
    cv::circle(grey, cv::Point((at + cv::Point2d(shift_px, 0)) * (1 << kFraction)), 12 << kFraction,
               cv::Scalar(test::uniform(rng, 40, 200)), cv::FILLED, cv::LINE_8, kFraction);
  }
  cv::GaussianBlur(grey, grey, {}, 2.0);
  return grey;
}

cv::Mat frame_of(const cv::Mat& grey, int number) {
  std::mt19937_64 rng = test::seeded("LiveNoise", number);
  cv::Mat noisy = grey.clone();
  for (int y = 0; y < noisy.rows; ++y) {
    for (int x = 0; x < noisy.cols; ++x) {
      noisy.at<float>(y, x) += static_cast<float>(kNoise * test::normal(rng));
    }
  }
  cv::Mat frame;
  noisy.convertTo(frame, CV_8U);
  cv::cvtColor(frame, frame, cv::COLOR_GRAY2BGR);
  return frame;
}

/// A numbered sequence, one frame for each scene. PNG: nothing is lost.
class Live : public ::testing::Test {
 protected:
  std::string sequence(const std::vector<cv::Mat>& scenes) const {
    for (std::size_t i = 0; i < scenes.size(); ++i) {
      const int number = static_cast<int>(i);
      cv::imwrite((folder / cv::format("frame_%02d.png", number)).string(),
                  frame_of(scenes[i], number), {cv::IMWRITE_PNG_COMPRESSION, 1});
    }
    return (folder / "frame_%02d.png").string();
  }
  const test::ScratchFolder folder;
};
using LiveClosedForm = Live;
using LiveProperty = Live;
using LiveBadInput = Live;

TEST_F(LiveClosedForm, FramesComeInOrderAndEnd) {
  const std::string source = sequence({scene(0), scene(50), scene(0)});
  FrameSource frames(source);
  EXPECT_EQ(frames.name(), source);
  EXPECT_FALSE(frames.is_device());
  for (int i = 0; i < 3; ++i) {
    const std::optional<cv::Mat> frame = frames.next();
    ASSERT_TRUE(frame);
    EXPECT_EQ(frame->type(), CV_8UC3);
    const cv::Mat expected = frame_of(scene(i == 1 ? 50 : 0), i);
    EXPECT_EQ(cv::norm(*frame, expected, cv::NORM_INF), 0.0) << i;
  }
  EXPECT_FALSE(frames.next());
}

TEST_F(LiveProperty, NoiseFallsWithTheRootOfTheNumberOfFrames) {
  const Photo photo = average_frames(sequence(std::vector<cv::Mat>(9, scene(0))), 9);
  EXPECT_EQ(photo.pixels.type(), CV_16UC3);
  EXPECT_TRUE(photo.warnings.empty());
  cv::Mat green, error;
  cv::extractChannel(photo.pixels, green, 1);
  green.convertTo(error, CV_32F, 255.0 / 65535.0);
  error -= scene(0);
  cv::Scalar mean, spread;
  cv::meanStdDev(error, mean, spread);
  // Spread over 307200 pixels: known to 0.13 %; rounding to whole levels adds 1/12 to 25.
  EXPECT_NEAR(spread[0], kNoise / 3.0, 0.02 * kNoise / 3.0);
  EXPECT_NEAR(mean[0], 0.0, 0.02);
}

TEST_F(LiveProperty, AMovedOrChangedFrameIsLeftOut) {
  cv::Mat hand = scene(0);
  cv::rectangle(hand, cv::Rect(100, 100, 150, 90), cv::Scalar(30.0), cv::FILLED);
  const cv::Mat still = scene(0);
  const Photo photo = average_frames(sequence({still, still, scene(1.0), still, hand, still}), 6);
  ASSERT_EQ(photo.warnings.size(), 1u);
  EXPECT_THAT(sentence(photo.warnings[0], LengthUnit::mm), HasSubstr("2 of 6 frames"));
}

TEST_F(LiveClosedForm, ASourceThatEndsEarlyIsSaid) {
  const Photo photo = average_frames(sequence({scene(0), scene(0)}), 16);
  ASSERT_EQ(photo.warnings.size(), 1u);
  EXPECT_THAT(sentence(photo.warnings[0], LengthUnit::mm), HasSubstr("2 of 16 frames"));
}

TEST_F(LiveClosedForm, OneFrameIsThatFrame) {
  const Photo photo = average_frames(sequence({scene(0), scene(40)}), 1);
  EXPECT_TRUE(photo.warnings.empty());
  cv::Mat back;
  photo.pixels.convertTo(back, CV_8U, 255.0 / 65535.0);
  EXPECT_EQ(cv::norm(back, frame_of(scene(0), 0), cv::NORM_INF), 0.0);
}

TEST_F(LiveBadInput, ASceneThatKeepsMovingIsRefused) {
  const std::string source = sequence({scene(0), scene(3), scene(6), scene(9)});
  try {
    average_frames(source, 4);
    ADD_FAILURE() << "accepted";
  } catch (const Error& error) {
    EXPECT_THAT(error.what(), HasSubstr("1 of 4 frames"));
    EXPECT_THAT(error.what(), HasSubstr(source));
  }
}

TEST_F(LiveBadInput, ASourceThatCannotBeOpenedIsNamed) {
  EXPECT_THROW(FrameSource("/no/such/video.avi"), Error);
  EXPECT_THROW(FrameSource(""), Error);
  test::write_file(folder / "words.avi", "no video");
  EXPECT_THROW(average_frames((folder / "words.avi").string(), 4), Error);
  for (const std::string device : {"63", "/dev/video63"}) {
    try {
      FrameSource camera(device);
      GTEST_SKIP() << "there is a camera 63 here";
    } catch (const Error& error) {
      EXPECT_THAT(error.what(), HasSubstr("camera " + device));
    }
  }
}

}  // namespace
}  // namespace evenbevel
