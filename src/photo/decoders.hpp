#pragma once

#include <span>
#include <string>
#include <vector>

#include <opencv2/core/mat.hpp>

#include "evenbevel/photo.hpp"

namespace evenbevel {

// Each decoder takes a whole file that starts with its own signature, and fills in everything but
// the photo's name. All of them throw Error with that name.

void decode_jpeg(std::span<const uchar> bytes, Photo& photo);
void decode_png(std::span<const uchar> bytes, Photo& photo);
/// Changes the orientation tag in `bytes`: OpenCV would turn the picture otherwise.
void decode_tiff(std::span<uchar> bytes, Photo& photo);
void decode_heic(std::span<const uchar> bytes, Photo& photo);

/// @throws Error  Always: "NAME: REASON".
[[noreturn]] void reject(const Photo& photo, const std::string& reason, const std::string& do_next);
[[noreturn]] void reject_truncated(const Photo& photo);
[[noreturn]] void reject_damaged(const Photo& photo, const std::string& detail);

/// Called with the size in the file's header, before memory is taken for the picture.
void require_sane_size(const Photo& photo, std::uint64_t width_px, std::uint64_t height_px);

/// Decodes with OpenCV in the stored grid, 8 or 16 bit, grey or BGR, alpha dropped.
cv::Mat decode_with_opencv(std::span<const uchar> bytes, const Photo& photo);

}  // namespace evenbevel
