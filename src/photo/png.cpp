#include "byte_order.hpp"
#include "decoders.hpp"
#include "exif.hpp"

namespace evenbevel {
namespace {

struct PngParts {
  std::span<const uchar> exif;
  bool complete = false;  ///< IEND was found.
};

/// Walks the chunks: length, name, data, checksum (PNG specification, section 5.3).
PngParts parts_of(std::span<const uchar> bytes) {
  constexpr std::size_t kSignature = 8, kAround = 12;
  PngParts parts;
  for (std::size_t at = kSignature; at + kAround <= bytes.size();) {
    const std::size_t length = big_endian(bytes, at, 4);
    if (length > bytes.size() - at - kAround) break;
    if (stands_at(bytes, at + 4, "eXIf")) parts.exif = bytes.subspan(at + 8, length);
    if (stands_at(bytes, at + 4, "IEND")) parts.complete = true;
    at += kAround + length;
  }
  return parts;
}

}  // namespace

void decode_png(std::span<const uchar> bytes, Photo& photo) {
  if (!stands_at(bytes, 12, "IHDR") || bytes.size() < 24) reject_truncated(photo);
  require_sane_size(photo, big_endian(bytes, 16, 4), big_endian(bytes, 20, 4));
  const PngParts parts = parts_of(bytes);
  if (!parts.complete) reject_truncated(photo);
  const ExifFacts facts = read_exif(parts.exif);
  photo.orientation = facts.orientation;
  take_camera(facts, photo);
  photo.pixels = decode_with_opencv(bytes, photo);
}

}  // namespace evenbevel
