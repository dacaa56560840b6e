#pragma once

#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include <nlohmann/json.hpp>
#include <opencv2/core/mat.hpp>

#include "bench/on_bench.hpp"
#include "evenbevel/bench.hpp"
#include "evenbevel/live.hpp"
#include "evenbevel/live_view.hpp"

namespace evenbevel::bench {

/// The bench's own camera while somebody watches: one thread takes its frames and keeps the newest
/// alone, one looks at each for what the page shows and says when to take the photo, one measures
/// the blade again and again and stores the photo taken. With nobody watching they wait.
class LiveBench {
 public:
  /// @param settings, bench  Outlive it.
  /// @throws Error  The camera cannot be opened, or its camera file not be read.
  LiveBench(const BenchSettings& settings, OnBench& bench);
  ~LiveBench();
  LiveBench(const LiveBench&) = delete;
  LiveBench& operator=(const LiveBench&) = delete;

  /// What the page shows beside the picture; asking for it is watching.
  nlohmann::json state();
  /// JPEG of the newest frame that was looked at; empty before the first.
  std::string picture();

  void take();              ///< The photo, now.
  void focus_anew();        ///< Lets the camera focus, and locks it again.
  void by_itself(bool on);  ///< Whether the photo is taken when all is well and still.

 private:
  using Clock = std::chrono::steady_clock;
  struct Frame {
    std::uint64_t number = 0;
    Clock::time_point grabbed = {};
    std::shared_ptr<const cv::Mat> bgr = {};  ///< Shared by the threads, changed by none.
  };
  /// What the newest frame gave.
  struct Shown {
    Frame frame = {};
    Clock::time_point ready = {};
    std::string jpeg = {};
    std::vector<LiveCheck> checks = {};
    LiveLook look = {};
    double still_s = 0.0, frames_a_second = 0.0;
  };
  /// What the newest measurement gave: a number, or why there is none.
  struct Number {
    Clock::time_point grabbed = {};
    std::optional<Measured> offset_mm = {};
    InUnits refused = {};
  };

  void grab();
  void look();
  void measure();

  std::optional<cv::Mat> next_frame();
  void drop_old_frames();
  void keep_pace(Clock::time_point& due);
  void keep_frame(cv::Mat bgr);
  void add_to_average(const cv::Mat& bgr);
  void settle_focus();
  void fail(const Error& error);
  void look_at(const Frame& frame);
  bool offset_seen_still(const SetUp& set_up, const Frame& frame) const;
  void begin_photo();
  void store_photo(FrameAverage average);
  void measure_frame(const Frame& frame, double up_mm);
  bool wait_for_watcher(std::unique_lock<std::mutex>& lock);
  bool watched_locked() const;
  LiveSettings live_settings(const SetUp& set_up, const cv::Mat& bgr);
  CameraModel camera_for(const cv::Mat& bgr);
  nlohmann::json number_json() const;

  const BenchSettings& settings_;
  OnBench& bench_;
  FrameSource source_;  // of the grabbing thread alone

  std::mutex mutex_;  // of all below
  std::condition_variable changed_;
  Clock::time_point watched_ = {};
  Frame newest_;
  Shown shown_;
  Number number_;
  std::optional<CameraModel> camera_;  ///< As its file has it; empty: guessed.
  LiveBlade blade_;
  SetUp looked_for_;
  TakeBySelf take_by_self_;
  std::optional<FrameAverage> average_;   ///< Being added up; by turns in the grabbing thread.
  std::optional<FrameAverage> to_store_;  ///< Complete.
  std::optional<Error> fault_, take_fault_;
  std::optional<FocusLock> focus_;
  int taken_job_ = 0;
  bool taking_ = false;  ///< From the decision until the photo is stored.
  bool stopping_ = false, by_itself_ = true, refocus_ = false;

  std::thread grabs_, looks_, measures_;
};

}  // namespace evenbevel::bench
