#include <optional>

#include "byte_order.hpp"
#include "decoders.hpp"
#include "exif.hpp"

namespace evenbevel {
namespace {

// TIFF 6.0, section 2 and the baseline tags.
constexpr std::uint64_t kSubfileType = 254, kWidth = 256, kHeight = 257, kOrientation = 274,
                        kDngVersion = 50706;

struct Directory {
  std::uint64_t width_px = 0, height_px = 0;
  std::optional<std::size_t> orientation_at;  ///< Where its 2-byte value stands.
  bool raw = false;                           ///< A camera's raw file in TIFF's clothes.
  std::size_t next_at = 0;                    ///< Where the next picture's directory stands.
};

class TiffReader {
 public:
  explicit TiffReader(std::span<const uchar> bytes) : bytes_(bytes), big_(bytes[0] == 'M') {}

  bool has(std::size_t at, std::size_t count) const {
    return at <= bytes_.size() && count <= bytes_.size() - at;
  }
  std::uint64_t number(std::size_t at, std::size_t count) const {
    return big_ ? big_endian(bytes_, at, count) : little_endian(bytes_, at, count);
  }
  bool big() const { return big_; }

 private:
  std::span<const uchar> bytes_;
  bool big_;
};

/// Empty: the directory lies outside the file.
std::optional<Directory> directory_at(const TiffReader& tiff, std::size_t start) {
  constexpr std::size_t kEntry = 12;
  constexpr std::uint64_t kShort = 3;
  if (!tiff.has(start, 2)) return std::nullopt;
  const std::size_t entries = tiff.number(start, 2);
  if (!tiff.has(start + 2, entries * kEntry)) return std::nullopt;
  Directory directory;
  for (std::size_t i = 0; i < entries; ++i) {
    const std::size_t at = start + 2 + i * kEntry;
    const std::uint64_t tag = tiff.number(at, 2);
    const std::uint64_t value = tiff.number(at + 8, tiff.number(at + 2, 2) == kShort ? 2 : 4);
    if (tag == kWidth) directory.width_px = value;
    if (tag == kHeight) directory.height_px = value;
    if (tag == kOrientation) directory.orientation_at = at + 8;
    if (tag == kDngVersion || (tag == kSubfileType && (value & 1) != 0)) directory.raw = true;
  }
  const std::size_t end = start + 2 + entries * kEntry;
  if (tiff.has(end, 4)) directory.next_at = tiff.number(end, 4);
  return directory;
}

/// The thumbnails that some programs put behind the picture do not count.
int pages_after(const TiffReader& tiff, const Directory& first) {
  constexpr int kMostPages = 1000;  // Directories that follow each other in a circle.
  int pages = 0, seen = 0;
  std::size_t at = first.next_at;
  while (at != 0 && seen++ < kMostPages) {
    const std::optional<Directory> next = directory_at(tiff, at);
    if (!next) break;
    if (!next->raw) ++pages;
    at = next->next_at;
  }
  return pages;
}

}  // namespace

void decode_tiff(std::span<uchar> bytes, Photo& photo) {
  const TiffReader tiff(bytes);
  std::optional<Directory> directory;
  if (tiff.has(4, 4)) directory = directory_at(tiff, tiff.number(4, 4));
  if (!directory) reject_truncated(photo);
  if (directory->raw || stands_at(bytes, 8, "CR")) {
    reject(photo, "is a raw photo", "export it as 16-bit PNG or TIFF, or give the camera's JPEG");
  }
  require_sane_size(photo, directory->width_px, directory->height_px);
  const ExifFacts facts = read_exif(bytes);
  take_camera(facts, photo);
  photo.orientation = facts.orientation;
  if (const int more = pages_after(tiff, *directory); more > 0) {
    photo.warnings.push_back(remark<RemarkCode::first_page_only>(more + 1));
  }
  if (directory->orientation_at) {
    bytes[*directory->orientation_at] = tiff.big() ? 0 : 1;
    bytes[*directory->orientation_at + 1] = tiff.big() ? 1 : 0;
  }
  photo.pixels = decode_with_opencv(bytes, photo);
}

}  // namespace evenbevel
