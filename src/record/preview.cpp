#include "record/preview.hpp"

#include <algorithm>
#include <cmath>
#include <system_error>

#include <Eigen/Core>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/photo.hpp"
#include "record/files.hpp"
#include "record/preview_window.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;

constexpr int kLongestPx = 1200;  // Of a whole photo.
constexpr int kQuality = 82;
// Another name whenever previews change, so that those kept by an older evenbevel are made anew.
constexpr const char* kKind = "-r.jpg";

cv::Mat eight_bit(const cv::Mat& pixels) {
  cv::Mat out = pixels;
  if (pixels.depth() == CV_16U) pixels.convertTo(out, CV_8U, 1.0 / 257.0);
  return out;
}

cv::Mat straightened(const cv::Mat& pixels, const PreviewWindow& window) {
  const double down = window.scale * window.enlarged;
  const cv::Size size(
      static_cast<int>(std::lround((window.u_to_mm - window.u_from_mm) * window.scale)),
      static_cast<int>(std::lround((window.v_to_mm - window.v_from_mm) * down)));
  const Eigen::Vector2d du = window.u_px_per_mm / window.scale;
  const Eigen::Vector2d dv = window.v_px_per_mm / down;
  // The middle of the first pixel lies half a pixel inside the window.
  const Eigen::Vector2d first = window.origin_px + window.u_from_mm * window.u_px_per_mm +
                                window.v_from_mm * window.v_px_per_mm + 0.5 * (du + dv);
  const cv::Matx23d to_photo(du.x(), dv.x(), first.x(), du.y(), dv.y(), first.y());
  cv::Mat out;
  cv::warpAffine(pixels, out, to_photo, size, cv::INTER_LINEAR | cv::WARP_INVERSE_MAP);
  return out;
}

cv::Mat shrunken(const cv::Mat& pixels) {
  const double scale = static_cast<double>(kLongestPx) / std::max(pixels.cols, pixels.rows);
  if (scale >= 1.0) return pixels;
  cv::Mat out;
  cv::resize(pixels, out, {}, scale, scale, cv::INTER_AREA);
  return out;
}

cv::Mat picture_of(const Photo& photo, const std::optional<PreviewWindow>& window) {
  const cv::Mat pixels = eight_bit(photo.pixels);
  return window ? straightened(pixels, *window) : shrunken(upright(pixels, photo.orientation));
}

/// Width by height, from a JPEG's frame header (ITU-T T.81, B.2.2); 0: not found.
double ratio_of(const std::string& jpeg) {
  const auto byte = [&](std::size_t at) { return static_cast<unsigned char>(jpeg[at]); };
  const auto word = [&](std::size_t at) { return byte(at) * 256.0 + byte(at + 1); };
  std::size_t at = 2;
  while (at + 9 < jpeg.size() && byte(at) == 0xFF) {
    const unsigned marker = byte(at + 1);
    if (marker >= 0xC0 && marker <= 0xC2) return word(at + 5) > 0 ? word(at + 7) / word(at + 5) : 0;
    at += 2 + static_cast<std::size_t>(word(at + 2));
  }
  return 0.0;
}

std::string make_jpeg(const fs::path& photo, const std::optional<PreviewWindow>& window) {
  const std::vector<uchar> jpeg = encode_jpeg(picture_of(read_photo(photo), window), kQuality);
  return {jpeg.begin(), jpeg.end()};
}

}  // namespace

std::optional<Preview> preview(Record& record, const RecordEntry& entry, std::size_t photo) {
  const std::optional<PreviewWindow> window =
      preview_window(record.statement(entry), entry.photos.at(photo).face);
  const fs::path file = record_photos(record.file()) / "previews" /
                        (entry.report + "-" + std::to_string(photo) + kKind);
  Preview result;
  std::error_code ignored;
  if (fs::exists(file, ignored)) result.jpeg = read_whole(file);
  result.ratio = ratio_of(result.jpeg);
  if (result.ratio <= 0.0) {
    try {
      result.jpeg = make_jpeg(record.photo_path(entry.photos[photo]), window);
      make_folder(file.parent_path());
      write_replacing(file, result.jpeg);
    } catch (const Error&) {
      if (result.jpeg.empty()) return std::nullopt;
    }
    result.ratio = ratio_of(result.jpeg);
  }
  if (result.ratio <= 0.0) return std::nullopt;
  if (window) {
    result.words = window->words;
    result.from_mm = window->u_from_mm;
    result.to_mm = window->u_to_mm;
    result.top_mm = window->v_from_mm;
    result.bottom_mm = window->v_to_mm;
  }
  return result;
}

}  // namespace evenbevel
