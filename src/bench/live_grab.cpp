// The live bench's grabbing thread: frames from the camera, the newest kept.

#include <algorithm>
#include <utility>

#include "bench/live_bench.hpp"
#include "bench/live_frame.hpp"

namespace evenbevel::bench {

/// A file begins anew at its end.
std::optional<cv::Mat> LiveBench::next_frame() {
  std::optional<cv::Mat> frame = source_.next();
  if (frame || source_.is_device()) return frame;
  source_ = FrameSource(settings_.camera_source);
  return source_.next();
}

/// What lay in the camera's buffers while nobody watched.
void LiveBench::drop_old_frames() {
  constexpr int kBuffers = 5;
  for (int i = 0; source_.is_device() && i < kBuffers; ++i) (void)source_.next();
}

/// A camera keeps its own pace; a file would be read at once.
void LiveBench::keep_pace(Clock::time_point& due) {
  constexpr double kUsualRate = 30.0, kMostRate = 120.0;
  if (source_.is_device()) return;
  const double said = source_.rate();
  const double rate = said > 0.0 && said <= kMostRate ? said : kUsualRate;
  due += std::chrono::duration_cast<Clock::duration>(std::chrono::duration<double>(1.0 / rate));
  const Clock::time_point now = Clock::now();
  if (due < now) due = now;
  std::this_thread::sleep_until(due);
}

void LiveBench::keep_frame(cv::Mat bgr) {
  {
    const std::lock_guard lock(mutex_);
    newest_ = {newest_.number + 1, Clock::now(), std::make_shared<const cv::Mat>(std::move(bgr))};
    fault_.reset();
  }
  changed_.notify_all();
}

void LiveBench::add_to_average(const cv::Mat& bgr) {
  std::optional<FrameAverage> average;
  {
    const std::lock_guard lock(mutex_);
    average.swap(average_);
  }
  if (!average) return;
  average->add(bgr);
  const bool complete = average->seen() >= kFramesOfAPhoto;
  {
    const std::lock_guard lock(mutex_);
    (complete ? to_store_ : average_) = std::move(average);
  }
  changed_.notify_all();
}

/// Once the card is sharp the lens is held; when the maker asks, it may focus again first.
void LiveBench::settle_focus() {
  bool refocus = false, sharp = false;
  {
    const std::lock_guard lock(mutex_);
    refocus = std::exchange(refocus_, false);
    sharp = std::ranges::any_of(
        shown_.checks, [](const LiveCheck& check) { return check.name == "focus" && check.well; });
    if (refocus) focus_.reset();
    if (focus_) return;
  }
  if (refocus) return source_.release_focus();
  if (!sharp) return;
  const FocusLock lock = source_.lock_focus();
  const std::lock_guard guard(mutex_);
  focus_ = lock;
}

void LiveBench::grab() {
  constexpr std::chrono::milliseconds kAgain{1000};
  Clock::time_point due = Clock::now();
  for (;;) {
    bool begins = false;
    {
      std::unique_lock lock(mutex_);
      begins = !watched_locked();
      if (!wait_for_watcher(lock)) return;
    }
    try {
      if (begins) drop_old_frames();
      std::optional<cv::Mat> frame = next_frame();
      if (!frame) {
        throw Error("the camera gives no picture any more",
                    "see that it is plugged in, then start the bench again");
      }
      keep_pace(due);
      add_to_average(*frame);
      keep_frame(std::move(*frame));
      settle_focus();
    } catch (const Error& e) {
      fail(e);
      std::this_thread::sleep_for(kAgain);
    }
  }
}

}  // namespace evenbevel::bench
