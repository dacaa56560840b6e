#pragma once

#include <string>

#include "bench/live_bench.hpp"
#include "bench/on_bench.hpp"
#include "bench/server.hpp"

namespace evenbevel::bench {

/// What each address means, and who may ask for it.
class Routes {
 public:
  /// @param bench, live  Outlive it; no live: there is no camera.
  Routes(OnBench& bench, LiveBench* live, const BenchSettings& settings, std::string token);

  Handling handling();

 private:
  Admission admit(const RequestHead& head);
  Answer answer(const RequestHead& head, const RequestBody& body);
  bool may_enter(const RequestHead& head) const;
  Answer get(const RequestHead& head);
  Answer page(const RequestHead& head) const;
  Answer post(const RequestHead& head, const RequestBody& body);

  Answer live_state();
  Answer live_picture();
  Answer live_order(const RequestBody& body);
  LiveBench& camera() const;

  OnBench& bench_;
  LiveBench* live_;
  std::string token_, cookie_;
  std::size_t photo_bytes_;
  LengthUnit unit_;
  bool secure_;
};

}  // namespace evenbevel::bench
