#include <algorithm>
#include <array>
#include <future>
#include <string_view>

#include <opencv2/core.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "byte_order.hpp"
#include "decoders.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/media.hpp"
#include "file_bytes.hpp"
#include "units/sha256.hpp"

namespace evenbevel {
namespace {

// Twice what the largest phone sensors give; 600 MB in 8-bit colour.
constexpr std::uint64_t kMostPixels = 200'000'000;
constexpr std::uint64_t kLongestSide = 65'500;

enum class Format { jpeg, png, tiff, heif, other };

Format format_of(std::span<const uchar> bytes) {
  using std::string_view_literals::operator""sv;
  if (stands_at(bytes, 0, "\xFF\xD8\xFF"sv)) return Format::jpeg;
  if (stands_at(bytes, 0, "\x89PNG\r\n\x1A\n"sv)) return Format::png;
  if (stands_at(bytes, 0, "II*\0"sv) || stands_at(bytes, 0, "MM\0*"sv)) return Format::tiff;
  constexpr std::array kBrands{"heic"sv, "heix"sv, "hevc"sv, "hevx"sv, "heim"sv,
                               "heis"sv, "mif1"sv, "msf1"sv, "avif"sv};
  const auto branded = [&](std::string_view brand) { return stands_at(bytes, 8, brand); };
  if (stands_at(bytes, 4, "ftyp"sv) && std::ranges::any_of(kBrands, branded)) return Format::heif;
  return Format::other;
}

/// What else it may be, for the message.
std::string other_kind(std::span<const uchar> bytes) {
  using std::string_view_literals::operator""sv;
  struct Kind {
    std::size_t at;
    std::string_view mark;
    const char* words;
  };
  constexpr std::array kKinds{
      Kind{8, "WEBP"sv, "a WebP picture"},    Kind{0, "GIF8"sv, "a GIF picture"},
      Kind{0, "BM"sv, "a BMP picture"},       Kind{0, "%PDF"sv, "a PDF page"},
      Kind{4, "ftyp"sv, "a video"},           Kind{0, "II+\0"sv, "a BigTIFF picture"},
      Kind{0, "MM\0+"sv, "a BigTIFF picture"}};
  for (const Kind& kind : kKinds) {
    if (stands_at(bytes, kind.at, kind.mark)) return std::string("is ") + kind.words;
  }
  return "is not an image";
}

}  // namespace

void reject(const Photo& photo, const std::string& reason, const std::string& do_next) {
  throw Error("photo " + photo.name + ": " + reason, do_next);
}

void reject_truncated(const Photo& photo) {
  reject(photo, "is truncated: the file ends before the picture does",
         "copy the photo from the camera again");
}

void reject_damaged(const Photo& photo, const std::string& detail) {
  reject(photo, "is damaged (" + detail + ")", "copy the photo from the camera again");
}

void require_sane_size(const Photo& photo, std::uint64_t width_px, std::uint64_t height_px) {
  const std::string size = std::to_string(width_px) + " x " + std::to_string(height_px) + " px";
  if (width_px == 0 || height_px == 0) reject_damaged(photo, "its size is given as " + size);
  if (std::max(width_px, height_px) > kLongestSide || width_px * height_px > kMostPixels) {
    reject(photo, "is too large: " + size + ", at most 200 megapixels are read",
           "give the photo as the camera took it");
  }
}

cv::Mat decode_with_opencv(std::span<const uchar> bytes, const Photo& photo) {
  cv::Mat pixels;
  try {
    pixels = decode_picture(
        bytes, cv::IMREAD_ANYDEPTH | cv::IMREAD_ANYCOLOR | cv::IMREAD_IGNORE_ORIENTATION);
    if (pixels.channels() == 4) cv::cvtColor(pixels, pixels, cv::COLOR_BGRA2BGR);
  } catch (const cv::Exception& failure) {
    reject_damaged(photo, failure.err);
  }
  if (pixels.empty()) reject_damaged(photo, "the picture cannot be decoded");
  const bool usual = pixels.depth() == CV_8U || pixels.depth() == CV_16U;
  if (!usual || (pixels.channels() != 1 && pixels.channels() != 3)) {
    reject(photo, "holds numbers of an unusual kind",
           "save it as 8-bit or 16-bit PNG, grey or colour");
  }
  return pixels;
}

bool begins_like_photo(std::string_view bytes) {
  return format_of({reinterpret_cast<const uchar*>(bytes.data()), bytes.size()}) != Format::other;
}

Photo read_photo(const std::filesystem::path& path) {
  Photo photo;
  photo.name = path.string();
  std::vector<uchar> bytes = file_bytes(path, photo);
  auto hash = std::async(std::launch::async, [&bytes] {
    return sha256({reinterpret_cast<const char*>(bytes.data()), bytes.size()});
  });
  switch (format_of(bytes)) {
    case Format::jpeg:
      decode_jpeg(bytes, photo);
      break;
    case Format::png:
      decode_png(bytes, photo);
      break;
    case Format::tiff:
      hash.wait();  // Decoding writes over a tag.
      decode_tiff(bytes, photo);
      break;
    case Format::heif:
      decode_heic(bytes, photo);
      break;
    case Format::other:
      reject(photo, other_kind(bytes), "give a photo as JPEG, HEIC, PNG or TIFF");
  }
  photo.sha256 = hash.get();
  return photo;
}

}  // namespace evenbevel
