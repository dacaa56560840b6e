// The camera over the bench: a picture sequence of a sample photo in its place.

#include <chrono>
#include <thread>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "frame_files.hpp"
#include "running_bench.hpp"

namespace evenbevel {
namespace {

using nlohmann::json;
using test::RunningBench;
using testing::HasSubstr;
using testing::StartsWith;

constexpr int kTries = 1200;  // of 50 ms

/// Watches as the page does, until something is so. @return  The last state; null: it never was.
template <class Condition>
json watch_until(const RunningBench& bench, Condition condition) {
  for (int i = 0; i < kTries; ++i) {
    json live = bench.get("/live").json();
    if (condition(live)) return live;
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
  }
  return {};
}

bool has_number(const json& live) {
  return live["number"].is_object() && live["number"].contains("value");
}

json check_named(const json& live, const std::string& name) {
  for (const json& check : live["checks"]) {
    if (check["name"] == name) return check;
  }
  return {};
}

TEST(BenchLiveSamplePhotos, ItShowsTheNewestFrameTheOffsetAndTakesThePhotoOnceByItself) {
  const test::FrameFiles frames(SOURCE_FOLDER "/sample-images/edge-usb.jpg");
  const RunningBench bench(test::with_camera(frames.source()));
  EXPECT_TRUE(bench.get("/state").json()["has_camera"]);
  ASSERT_EQ(bench.choose({{"view", "edge"}, {"thickness", "3mm"}}).status, 200);
  const json live = watch_until(bench, has_number);
  ASSERT_TRUE(live.is_object()) << "no number";
  // The truth file: mean offset of its stations; here by the report's own interval.
  EXPECT_THAT(live["number"]["U95"].get<std::string>(), HasSubstr("mm"));
  EXPECT_THAT(live["number"]["side"].get<std::string>(), HasSubstr("of the middle"));
  for (const json& check : live["checks"]) EXPECT_TRUE(check["well"]) << check;
  EXPECT_THAT(bench.get("/live.jpg").body, StartsWith("\xFF\xD8"));

  const json taken = watch_until(bench, [](const json& now) { return now["taken_job"] == 1; });
  ASSERT_TRUE(taken.is_object()) << "it took no photo";
  const json job = bench.job_done(1)["job"];
  EXPECT_EQ(job["state"], "measured") << job;
  ASSERT_EQ(bench.stored().size(), 1U);
  EXPECT_THAT(bench.stored().front(), testing::EndsWith(".tif"));
  EXPECT_EQ(cv::imread((bench.folder() / "photos" / bench.stored().front()).string(),
                       cv::IMREAD_UNCHANGED)
                .type(),
            CV_16UC3)
      << "averaged frames hold more than 8 bits";
  // Nothing was touched: it is not taken again.
  for (int i = 0; i < 40; ++i) {
    EXPECT_EQ(bench.get("/live").json()["taken_job"], 1);
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
  }
}

TEST(BenchLiveSamplePhotos, ACameraAsideIsToldWhichWayToMove) {
  // The sample photo's camera stands 44 mm to the left face.
  const test::FrameFiles frames(SOURCE_FOLDER "/sample-images/edge-three-2.jpg", 1920);
  const RunningBench bench(test::with_camera(frames.source()));
  ASSERT_EQ(bench.choose({{"view", "edge"}, {"thickness", "3.175mm"}}).status, 200);
  const json live =
      watch_until(bench, [](const json& now) { return !check_named(now, "camera").is_null(); });
  ASSERT_TRUE(live.is_object());
  EXPECT_FALSE(check_named(live, "camera")["well"]) << live;
  EXPECT_THAT(check_named(live, "camera")["todo"].get<std::string>(), HasSubstr("toward the"));
  EXPECT_EQ(bench.get("/live").json()["taken_job"], 0);
}

TEST(BenchLiveProperty, ByHandItIsTakenWhenAskedAndOnlyThen) {
  const test::FrameFiles frames(SOURCE_FOLDER "/sample-images/practice-true.jpg", 1920);
  const RunningBench bench(test::with_camera(frames.source()));
  ASSERT_EQ(bench.choose({{"view", "practice"}}).status, 200);
  ASSERT_EQ(bench.post("/live", R"({"do":"by hand"})").status, 200);
  ASSERT_TRUE(watch_until(bench, [](const json& now) { return now["frame"] > 60; }).is_object());
  EXPECT_EQ(bench.get("/live").json()["taken_job"], 0);
  ASSERT_EQ(bench.post("/live", R"({"do":"take"})").status, 200);
  EXPECT_TRUE(
      watch_until(bench, [](const json& now) { return now["taken_job"] == 1; }).is_object());
  EXPECT_EQ(bench.job_done(1)["job"]["state"], "measured");
}

TEST(BenchLiveProperty, TheLensCardHeldStillIsAPhotoOfItsOwnCamera) {
  // The sample's lens photo as a camera without EXIF gives it: counted, not refused for its lack.
  const test::FrameFiles frames(SOURCE_FOLDER "/sample-images/lens-01.jpg", 1920);
  const RunningBench bench(test::with_camera(frames.source()));
  ASSERT_EQ(bench.choose({{"view", "lens"}}).status, 200);
  ASSERT_TRUE(
      watch_until(bench, [](const json& now) { return now["taken_job"] == 1; }).is_object());
  const json state = bench.job_done(1);
  EXPECT_EQ(state["job"]["said"]["headline"], "PHOTO 1 COUNTS") << state["job"];
  EXPECT_THAT(state["guide"].get<std::string>(), HasSubstr("the card"));
}

TEST(BenchLiveBadInput, WhatMovesIsNotTakenByItselfAndByHandItIsSaid) {
  const test::FrameFiles frames(SOURCE_FOLDER "/sample-images/edge-usb.jpg", 1920, 12);
  const RunningBench bench(test::with_camera(frames.source()));
  ASSERT_EQ(bench.choose({{"view", "practice"}}).status, 200);
  ASSERT_TRUE(watch_until(bench, [](const json& now) { return now["frame"] > 60; }).is_object());
  EXPECT_EQ(bench.get("/live").json()["taken_job"], 0);
  ASSERT_EQ(bench.post("/live", R"({"do":"take"})").status, 200);
  const json fault =
      watch_until(bench, [](const json& now) { return now["take_fault"].is_object(); });
  ASSERT_TRUE(fault.is_object());
  EXPECT_THAT(fault["take_fault"]["wrong"].get<std::string>(), HasSubstr("show the same picture"));
  EXPECT_FALSE(fault["taking"]);
  EXPECT_EQ(fault["taken_job"], 0);
  EXPECT_TRUE(bench.stored().empty());
}

TEST(BenchLiveBadInput, WithoutTheCardItSaysWhatToShowAndTakesNothing) {
  const test::FrameFiles frames(SOURCE_FOLDER "/sample-images/edge-no-card.jpg", 1920);
  const RunningBench bench(test::with_camera(frames.source()));
  ASSERT_EQ(bench.choose({{"view", "edge"}, {"thickness", "3.4mm"}}).status, 200);
  const json live = watch_until(bench, [](const json& now) { return now["frame"] > 45; });
  ASSERT_TRUE(live.is_object());
  EXPECT_THAT(live["checks"][0]["todo"].get<std::string>(), HasSubstr("edge card"));
  EXPECT_TRUE(live["number"].is_null());
  EXPECT_EQ(live["taken_job"], 0);
  EXPECT_EQ(bench.post("/live", R"({"do":"fly"})").status, 400);
}

TEST(BenchLiveBadInput, WithoutACameraOrATokenThereIsNoLivePicture) {
  const RunningBench bench;
  EXPECT_FALSE(bench.get("/state").json()["has_camera"]);
  EXPECT_EQ(bench.get("/live").status, 409);
  EXPECT_EQ(bench.post("/live", R"({"do":"take"})").status, 409);
  EXPECT_EQ(bench.ask({.target = "/live"}).status, 403);
  EXPECT_EQ(bench.ask({.target = "/live.jpg"}).status, 403);
}

TEST(BenchLiveProperty, WithNobodyWatchingNothingIsGrabbed) {
  const test::FrameFiles frames(SOURCE_FOLDER "/sample-images/edge-no-card.jpg", 640);
  const RunningBench bench(test::with_camera(frames.source()));
  std::this_thread::sleep_for(std::chrono::milliseconds(500));
  EXPECT_EQ(bench.get("/live.jpg").status, 404) << "the picture alone is not watching";
  EXPECT_EQ(bench.get("/live").json()["frame"], 0);
  EXPECT_TRUE(watch_until(bench, [](const json& now) { return now["frame"] > 3; }).is_object());
}

}  // namespace
}  // namespace evenbevel
