#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <opencv2/core/mat.hpp>

#include "evenbevel/words.hpp"

namespace evenbevel {

/// What EXIF says of the camera that took a photo; empty where it says nothing.
struct CameraIdentity {
  std::string make{};
  std::string model{};
  std::string lens{};
  std::optional<double> focal_length_mm{};
  std::optional<double> focal_length_35mm{};  ///< 35 mm equivalent, tag 0xA405.
  std::optional<double> digital_zoom{};
};

/// A decoded photo in the sensor's own pixel grid, as stored: EXIF orientation is NOT applied.
struct Photo {
  std::string name;     ///< For messages and reports: the path as given.
  std::string sha256;   ///< Of the file's bytes that were decoded; empty: not from a file.
  cv::Mat pixels;       ///< CV_8UC1, CV_8UC3 (BGR), CV_16UC1 or CV_16UC3 (BGR).
  int orientation = 1;  ///< EXIF tag 274, 1..8: how to turn the picture for display only.
  CameraIdentity camera;
  std::vector<Remark> warnings;  ///< For the report.
};

/// Reads JPEG, PNG (8 or 16 bit, grey or colour, alpha dropped), TIFF or HEIC.
/// @throws Error  Missing, a directory, empty, truncated, not an image, absurd dimensions; the
///                message names the file.
Photo read_photo(const std::filesystem::path& path);

/// Whether a file's bytes begin as those of a format that `read_photo` knows.
bool begins_like_photo(std::string_view bytes);

/// The picture turned upright for display, as EXIF orientation says.
cv::Mat upright(const cv::Mat& pixels, int orientation);

cv::Size upright_size(cv::Size stored_size, int orientation);

/// Where a stored pixel lands in the upright picture. Pixel centres at integers.
cv::Point2d upright_point(cv::Point2d stored_px, cv::Size stored_size, int orientation);

/// 8-bit luma, encoded as stored; shares memory with `pixels` when that is already CV_8UC1.
cv::Mat grey8(const cv::Mat& pixels);

/// JPEG file of a picture, CV_8UC1 or CV_8UC3 (BGR). Needs no loading of OpenCV's codecs.
/// @param quality  1..100.
/// @throws Error  Larger than JPEG allows (65500 px).
std::vector<uchar> encode_jpeg(const cv::Mat& pixels, int quality);

/// Photo files of a folder in name order; the path itself if it is a file.
/// @throws Error  Nothing there, or a folder without photos.
std::vector<std::filesystem::path> photo_files(const std::filesystem::path& path);

}  // namespace evenbevel
