#include "bench/live_bench.hpp"

#include <cmath>
#include <utility>

#include "bench/job_words.hpp"
#include "bench/live_frame.hpp"
#include "bench/phone_words.hpp"

namespace evenbevel::bench {
namespace {

using nlohmann::json;

/// The page asks every 30 ms, a hidden one not at all.
constexpr std::chrono::milliseconds kWatching{4000};

}  // namespace

LiveBench::LiveBench(const BenchSettings& settings, OnBench& bench)
    : settings_(settings), bench_(bench), source_(settings.camera_source) {
  if (!settings.camera_file.empty()) camera_ = read_camera_file(settings.camera_file);
  grabs_ = std::thread([this] { grab(); });
  looks_ = std::thread([this] { look(); });
  measures_ = std::thread([this] { measure(); });
}

LiveBench::~LiveBench() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  changed_.notify_all();
  for (std::thread* thread : {&grabs_, &looks_, &measures_}) thread->join();
}

bool LiveBench::watched_locked() const {
  return watched_ != Clock::time_point() && Clock::now() - watched_ < kWatching;
}

/// @return  False: it is over.
bool LiveBench::wait_for_watcher(std::unique_lock<std::mutex>& lock) {
  changed_.wait(lock, [&] { return stopping_ || watched_locked(); });
  return !stopping_;
}

void LiveBench::fail(const Error& error) {
  const std::lock_guard lock(mutex_);
  fault_.emplace(error);
}

/// One that was found on this bench in the meantime counts at once.
CameraModel LiveBench::camera_for(const cv::Mat& bgr) {
  const std::string file = bench_.live_camera_file();
  if (file.empty()) return guess_camera(as_photo(bgr));
  const std::lock_guard lock(mutex_);
  if (!camera_ || camera_->file != file) {
    camera_ = read_camera_file(file);
    camera_->file = file;
  }
  return *camera_;
}

json LiveBench::number_json() const {
  if (number_.offset_mm) {
    const double mm = number_.offset_mm->value;
    return {{"value", format_length(std::abs(mm), settings_.unit)},
            {"side", mm < 0.0 ? "right of the middle" : "left of the middle"},
            {"U95", format_length(U95(*number_.offset_mm), settings_.unit)},
            {"age_s", seconds(Clock::now() - number_.grabbed)}};
  }
  const std::string refused = number_.refused.said(settings_.unit);
  return refused.empty() ? json() : json{{"refused", refused}};
}

json LiveBench::state() {
  const std::lock_guard lock(mutex_);
  watched_ = Clock::now();
  changed_.notify_all();
  const LengthUnit unit = settings_.unit;
  json checks = json::array();
  for (const LiveCheck& check : shown_.checks) {
    checks.push_back({{"name", check.name},
                      {"well", check.well},
                      {"words", check.words.said(unit)},
                      {"todo", check.todo.said(unit)}});
  }
  const auto ms = [](Clock::duration span) { return std::lround(1000.0 * seconds(span)); };
  return {{"frame", shown_.frame.number},
          {"age_ms", ms(Clock::now() - shown_.frame.grabbed)},
          {"looked_ms", ms(shown_.ready - shown_.frame.grabbed)},
          {"frames_a_second", shown_.frames_a_second},
          {"checks", std::move(checks)},
          {"number", number_json()},
          {"still_s", shown_.still_s},
          {"by_itself", by_itself_},
          {"armed", take_by_self_.armed()},
          {"taking", taking_},
          {"taken_job", taken_job_},
          {"focus", !focus_          ? "not held yet"
                    : focus_->locked ? "held"
                                     : focus_->refused},
          {"fault", fault_ ? words_of(without_options(*fault_), unit) : json()},
          {"take_fault", take_fault_ ? words_of(without_options(*take_fault_), unit) : json()}};
}

std::string LiveBench::picture() {
  const std::lock_guard lock(mutex_);
  return shown_.jpeg;
}

void LiveBench::take() {
  bench_.require_ready();
  const std::lock_guard lock(mutex_);
  if (taking_) return;
  if (shown_.frame.number == 0) {
    throw Error("the camera has shown no picture yet", "wait for its picture, then take the photo");
  }
  take_by_self_.taken(shown_.look);
  begin_photo();
}

void LiveBench::focus_anew() {
  const std::lock_guard lock(mutex_);
  refocus_ = true;
}

void LiveBench::by_itself(bool on) {
  const std::lock_guard lock(mutex_);
  by_itself_ = on;
}

}  // namespace evenbevel::bench
