#pragma once

#include <optional>
#include <string>
#include <utility>

namespace evenbevel::test {

/// What goes into an EXIF block; what is left empty is left out.
struct ExifContent {
  std::string make{}, model{}, lens{};
  std::optional<int> orientation{};
  std::optional<int> focal_length_35mm{};
  std::optional<std::pair<unsigned, unsigned>> focal_length{}, digital_zoom{};  ///< Ratios.
};

/// From the byte order mark on, written by hand (TIFF 6.0, Exif 2.3), big-endian.
std::string exif_block(const ExifContent& content);

/// The same JPEG with the block in an APP1 segment, as its first segment.
std::string jpeg_with_exif(const std::string& jpeg, const std::string& block);

/// The same PNG with the block in an eXIf chunk behind the header.
std::string png_with_exif(const std::string& png, const std::string& block);

/// Most significant byte first.
std::string big_endian_bytes(std::size_t value, int bytes);

}  // namespace evenbevel::test
