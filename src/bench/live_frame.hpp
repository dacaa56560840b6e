#pragma once

#include <chrono>
#include <utility>

#include <opencv2/core/mat.hpp>

#include "bench/set_up.hpp"
#include "evenbevel/photo.hpp"

namespace evenbevel::bench {

// What the threads of the live bench share.

inline constexpr int kFramesOfAPhoto = 16;

inline double seconds(std::chrono::steady_clock::duration span) {
  return std::chrono::duration<double>(span).count();
}

inline Photo as_photo(const cv::Mat& bgr) {
  Photo photo;
  photo.name = "the live picture";
  photo.pixels = bgr;
  return photo;
}

/// Whether the offset is measured again and again.
inline bool shows_offset(const SetUp& set_up) {
  return (set_up.view == BenchView::edge || set_up.view == BenchView::pair) &&
         set_up.thickness_mm.has_value();
}

}  // namespace evenbevel::bench
