#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string_view>

#include <opencv2/core/hal/interface.h>

namespace evenbevel {

/// @pre at + bytes lies inside.
inline std::uint64_t big_endian(std::span<const uchar> data, std::size_t at, std::size_t bytes) {
  std::uint64_t value = 0;
  for (std::size_t i = 0; i < bytes; ++i) value = value << 8 | data[at + i];
  return value;
}

/// @pre at + bytes lies inside.
inline std::uint64_t little_endian(std::span<const uchar> data, std::size_t at, std::size_t bytes) {
  std::uint64_t value = 0;
  for (std::size_t i = bytes; i > 0; --i) value = value << 8 | data[at + i - 1];
  return value;
}

/// True when `text` stands in the data at `at`.
inline bool stands_at(std::span<const uchar> data, std::size_t at, std::string_view text) {
  if (data.size() < at + text.size()) return false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (data[at + i] != static_cast<uchar>(text[i])) return false;
  }
  return true;
}

}  // namespace evenbevel
