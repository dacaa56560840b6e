#include "exif.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include <libexif/exif-data.h>

namespace evenbevel {
namespace {

// Real blocks are below 64 kB in JPEG; TIFF files hold it anywhere, and the pixels with it.
constexpr std::size_t kMostBytes = std::size_t{1} << 30;
constexpr std::string_view kHeader("Exif\0\0", 6);

struct FreeData {
  void operator()(ExifData* data) const { exif_data_unref(data); }
};

const ExifEntry* entry(const ExifData& data, ExifIfd ifd, ExifTag tag) {
  const ExifEntry* found = exif_content_get_entry(data.ifd[ifd], tag);
  const bool usable = found != nullptr && found->data != nullptr && found->components > 0;
  return usable ? found : nullptr;
}

/// Plain ASCII without control characters or blanks at the ends: it goes into files and messages.
std::string text(const ExifEntry* found) {
  constexpr std::size_t kLongest = 100;
  if (found == nullptr || found->format != EXIF_FORMAT_ASCII) return "";
  const std::span<const unsigned char> raw(found->data, found->size);
  std::string out;
  for (const unsigned char c : raw) {
    if (c == 0 || out.size() == kLongest) break;
    if (c >= 32) out += c < 127 ? static_cast<char>(c) : '?';
  }
  const std::size_t first = out.find_first_not_of(' ');
  if (first == std::string::npos) return "";
  return out.substr(first, out.find_last_not_of(' ') - first + 1);
}

std::optional<double> number(const ExifData& data, const ExifEntry* found) {
  if (found == nullptr) return std::nullopt;
  const ExifByteOrder order = exif_data_get_byte_order(const_cast<ExifData*>(&data));
  if (found->format == EXIF_FORMAT_SHORT && found->size >= 2) {
    return exif_get_short(found->data, order);
  }
  if (found->format == EXIF_FORMAT_LONG && found->size >= 4) {
    return exif_get_long(found->data, order);
  }
  if (found->format == EXIF_FORMAT_RATIONAL && found->size >= 8) {
    const ExifRational ratio = exif_get_rational(found->data, order);
    if (ratio.denominator != 0) return static_cast<double>(ratio.numerator) / ratio.denominator;
  }
  return std::nullopt;
}

std::optional<double> positive(const std::optional<double>& value) {
  return value && *value > 0.0 ? value : std::nullopt;
}

}  // namespace

void take_camera(const ExifFacts& facts, Photo& photo) {
  photo.camera = facts.camera;
  photo.warnings.insert(photo.warnings.end(), facts.warnings.begin(), facts.warnings.end());
}

ExifFacts read_exif(std::span<const uchar> tiff) {
  ExifFacts facts;
  if (tiff.empty() || tiff.size() > kMostBytes) return facts;
  std::vector<uchar> block(kHeader.begin(), kHeader.end());
  block.insert(block.end(), tiff.begin(), tiff.end());

  const std::unique_ptr<ExifData, FreeData> data(exif_data_new());
  if (!data) return facts;
  exif_data_unset_option(data.get(), EXIF_DATA_OPTION_FOLLOW_SPECIFICATION);
  exif_data_load_data(data.get(), block.data(), static_cast<unsigned int>(block.size()));

  const auto in_main = [&](ExifTag tag) { return entry(*data, EXIF_IFD_0, tag); };
  const auto in_exif = [&](ExifTag tag) { return entry(*data, EXIF_IFD_EXIF, tag); };
  const double orientation = number(*data, in_main(EXIF_TAG_ORIENTATION)).value_or(1.0);
  if (orientation >= 1.0 && orientation <= 8.0) facts.orientation = static_cast<int>(orientation);
  facts.camera.make = text(in_main(EXIF_TAG_MAKE));
  facts.camera.model = text(in_main(EXIF_TAG_MODEL));
  facts.camera.lens = text(in_exif(EXIF_TAG_LENS_MODEL));
  facts.camera.focal_length_mm = positive(number(*data, in_exif(EXIF_TAG_FOCAL_LENGTH)));
  facts.camera.focal_length_35mm =
      positive(number(*data, in_exif(EXIF_TAG_FOCAL_LENGTH_IN_35MM_FILM)));
  // Common practice, no source: fisheyes have 8 mm, the longest lenses for sport 600 to 1200.
  constexpr double kShortest35mm = 8.0, kLongest35mm = 1200.0;
  const double focal_35mm = facts.camera.focal_length_35mm.value_or(kShortest35mm);
  if (focal_35mm < kShortest35mm || focal_35mm > kLongest35mm) {
    facts.warnings.push_back(remark<RemarkCode::focal_length_absurd>(focal_35mm));
    facts.camera.focal_length_35mm.reset();
  }
  facts.camera.digital_zoom = number(*data, in_exif(EXIF_TAG_DIGITAL_ZOOM_RATIO));
  // Exif 2.3, tag 0xA404: a ratio of 0 says that digital zoom was not used.
  if (facts.camera.digital_zoom == 0.0) facts.camera.digital_zoom = 1.0;
  return facts;
}

}  // namespace evenbevel
