#pragma once

#include <filesystem>
#include <string>

#include <libheif/heif.h>
#include <opencv2/core/mat.hpp>

namespace evenbevel::test {

/// HEIC file by libheif's own encoder. False: it has no HEVC encoder, or failed.
/// @param bgr  8 bits a channel, or 16, of which `bits` are kept.
/// @param quality  1..100.
bool write_heic(const std::filesystem::path& path, const cv::Mat& bgr, heif_orientation orientation,
                const std::string& exif = "", int bits = 8, int quality = 95);

}  // namespace evenbevel::test
