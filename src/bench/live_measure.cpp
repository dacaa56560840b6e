// The live bench's measuring thread: the offset as it stands, and the photo taken stored.

#include <fstream>
#include <utility>

#include "bench/live_bench.hpp"
#include "bench/live_frame.hpp"
#include "evenbevel/edge_view.hpp"
#include "evenbevel/media.hpp"

namespace evenbevel::bench {

void LiveBench::store_photo(FrameAverage average) {
  const std::filesystem::path file = bench_.incoming_file();
  std::error_code ignored;
  try {
    const Photo photo = average.photo("the live picture", kFramesOfAPhoto);
    const std::vector<std::uint8_t> bytes = encode_picture(".tiff", photo.pixels);
    std::ofstream out(file, std::ios::binary | std::ios::trunc);
    out.write(reinterpret_cast<const char*>(bytes.data()),
              static_cast<std::streamsize>(bytes.size()));
    out.close();
    if (!out || bytes.empty()) {
      throw Error("the photo could not be stored", "see whether the disk is full");
    }
    const int job = bench_.add_photo(file, true);
    const std::lock_guard lock(mutex_);
    taking_ = false;
    taken_job_ = job;
  } catch (const Error& e) {
    std::filesystem::remove(file, ignored);
    const std::lock_guard lock(mutex_);
    taking_ = false;
    take_by_self_ = {};  // it may be tried again without touching anything
    take_fault_.emplace(e);
  }
}

void LiveBench::measure_frame(const Frame& frame, double up_mm) {
  const SetUp set_up = bench_.chosen();
  Number number{.grabbed = frame.grabbed};
  LiveBlade blade;
  try {
    EdgeSettings edge;
    edge.thickness_mm = *set_up.thickness_mm;
    edge.print = settings_.edge_card.print;
    const EdgeResult result = edge_view(as_photo(*frame.bgr), camera_for(*frame.bgr), edge);
    number.offset_mm = result.centreline_offset_mm;
    blade = {.tip = result.tip, .lateral_mm = result.camera_lateral_mm, .up_mm = up_mm};
  } catch (const Error& e) {
    number.refused = e.what_is_wrong();
  }
  const std::lock_guard lock(mutex_);
  if (!(looked_for_ == set_up)) return;
  number_ = std::move(number);
  blade_ = blade;
}

void LiveBench::measure() {
  constexpr double kRest = 0.3;  // of the time that measuring took: the looking goes before
  std::uint64_t measured = 0;
  for (;;) {
    Frame frame;
    double up_mm = 0.0;
    std::optional<FrameAverage> complete;
    {
      std::unique_lock lock(mutex_);
      const auto shown_anew = [&] { return shown_.look.placed && shown_.frame.number != measured; };
      changed_.wait(lock, [&] {
        return stopping_ || to_store_ || (shows_offset(looked_for_) && shown_anew());
      });
      if (stopping_) return;
      complete.swap(to_store_);
      frame = shown_.frame;
      up_mm = shown_.look.aside_mm.y();
    }
    if (complete) {
      store_photo(std::move(*complete));
      continue;
    }
    measured = frame.number;
    const Clock::time_point start = Clock::now();
    measure_frame(frame, up_mm);
    std::this_thread::sleep_for((Clock::now() - start) * kRest);
  }
}

}  // namespace evenbevel::bench
