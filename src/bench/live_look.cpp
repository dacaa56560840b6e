// The live bench's looking thread: what each frame shows, and when to take the photo.

#include <algorithm>
#include <utility>

#include "bench/live_bench.hpp"
#include "bench/live_frame.hpp"

namespace evenbevel::bench {
namespace {

constexpr int kShownWidth_px = 960;
constexpr int kShownQuality = 72;

}  // namespace

LiveSettings LiveBench::live_settings(const SetUp& set_up, const cv::Mat& bgr) {
  LiveSettings live{.card = kind_of(set_up.view).card, .camera = camera_for(bgr)};
  if (live.card == CardKind::edge) live.print = settings_.edge_card.print;
  if (live.card == CardKind::side) live.print = settings_.side_card.print;
  if (live.card == CardKind::heel) live.print = settings_.heel_card.print;
  if (live.card == CardKind::lens) live.print = settings_.lens_card.print;
  return live;
}

/// With the lock held: whether the offset was measured in a frame since all has been still, so that
/// the photo will be measured too; where no offset is shown, nothing is waited for.
bool LiveBench::offset_seen_still(const SetUp& set_up, const Frame& frame) const {
  if (!shows_offset(set_up)) return true;
  return number_.offset_mm && seconds(frame.grabbed - number_.grabbed) <= take_by_self_.still_s();
}

void LiveBench::look_at(const Frame& frame) {
  constexpr double kSmooth = 0.9;  // of the rate, from frame to frame
  const SetUp set_up = bench_.chosen();
  const LiveSettings live = live_settings(set_up, *frame.bgr);
  LiveBlade blade;
  {
    const std::lock_guard lock(mutex_);
    if (!(looked_for_ == set_up)) {
      blade_ = {};
      number_ = {};
      looked_for_ = set_up;
    }
    blade = blade_;
  }
  Shown shown{.frame = frame, .look = look_at_frame(*frame.bgr, live)};
  shown.checks = live_checks(shown.look, live, blade);
  const std::vector<uchar> jpeg =
      encode_jpeg(live_picture(*frame.bgr, shown.look, kShownWidth_px), kShownQuality);
  shown.jpeg.assign(jpeg.begin(), jpeg.end());
  shown.ready = Clock::now();
  const std::lock_guard lock(mutex_);
  const bool ready = by_itself_ && !taking_ && offset_seen_still(set_up, frame);
  const bool take = take_by_self_.see(seconds(frame.grabbed.time_since_epoch()),
                                      all_well(shown.checks), ready, shown.look);
  shown.still_s = take_by_self_.still_s();
  const double rate = 1.0 / std::max(1e-3, seconds(shown.ready - shown_.ready));
  const double before = shown_.frames_a_second > 0.0 ? shown_.frames_a_second : rate;
  if (shown_.frame.number > 0) shown.frames_a_second = kSmooth * before + (1.0 - kSmooth) * rate;
  shown_ = std::move(shown);
  if (take) begin_photo();
}

void LiveBench::look() {
  std::uint64_t seen = 0;
  for (;;) {
    Frame frame;
    {
      std::unique_lock lock(mutex_);
      changed_.wait(lock, [&] { return stopping_ || newest_.number != seen; });
      if (stopping_) return;
      frame = newest_;
    }
    seen = frame.number;
    try {
      look_at(frame);
    } catch (const Error& e) {
      fail(e);
    }
  }
}

/// With the lock held: the next frames are added up.
void LiveBench::begin_photo() {
  taking_ = true;
  average_.emplace();
  take_fault_.reset();
}

}  // namespace evenbevel::bench
