// libjpeg directly rather than through OpenCV: it says when the data end too early or are damaged
// (OpenCV fills up with grey and carries on), and writes BGR without a second pass.

#include <csetjmp>
#include <cstdio>
#include <cstring>

#include <jerror.h>
#include <jpeglib.h>

#include "byte_order.hpp"
#include "decoders.hpp"
#include "exif.hpp"

namespace evenbevel {
namespace {

struct JpegParts {
  std::span<const uchar> exif;  ///< From the byte order mark on.
  bool complete = false;        ///< The end marker was found.
};

/// Position of the marker that ends the entropy-coded data starting at `at`; bytes.size() if none.
std::size_t next_marker(std::span<const uchar> bytes, std::size_t at) {
  while (at + 1 < bytes.size()) {
    const void* found = std::memchr(&bytes[at], 0xFF, bytes.size() - 1 - at);
    if (found == nullptr) break;
    at = static_cast<std::size_t>(static_cast<const uchar*>(found) - bytes.data());
    const uchar code = bytes[at + 1];
    const bool restart = code >= 0xD0 && code <= 0xD7;
    if (code != 0x00 && code != 0xFF && !restart) return at;
    at += code == 0xFF ? 1 : 2;
  }
  return bytes.size();
}

/// Walks the markers (ITU-T T.81, annex B).
JpegParts segments_of(std::span<const uchar> bytes) {
  constexpr uchar kEnd = 0xD9, kApp1 = 0xE1;
  constexpr std::string_view kExif("Exif\0\0", 6);
  JpegParts parts;
  std::size_t at = 2;
  while ((at = next_marker(bytes, at)) + 1 < bytes.size()) {
    const uchar code = bytes[at + 1];
    if (code == kEnd) {
      parts.complete = true;
      return parts;
    }
    at += 2;
    if (at + 2 > bytes.size()) return parts;
    const std::size_t length = big_endian(bytes, at, 2);
    if (length < 2 || at + length > bytes.size()) return parts;
    if (code == kApp1 && parts.exif.empty() && length > 8 && stands_at(bytes, at + 2, kExif)) {
      parts.exif = bytes.subspan(at + 8, length - 8);
    }
    at += length;
  }
  return parts;
}

/// Wraps libjpeg, which leaves by longjmp on fatal errors: no C++ object lives in the frames that
/// it leaves.
class Decoder {
 public:
  explicit Decoder(std::span<const uchar> bytes) : bytes_(bytes) {
    jpeg_.err = jpeg_std_error(&errors_);
    jpeg_.client_data = this;
    errors_.error_exit = leave;
    errors_.emit_message = note;
    progress_.progress_monitor = limit_scans;
  }
  ~Decoder() {
    if (created_) jpeg_destroy_decompress(&jpeg_);
  }
  Decoder(const Decoder&) = delete;
  Decoder& operator=(const Decoder&) = delete;

  /// Reads the header. False: not a JPEG that libjpeg reads.
  bool start() {
    if (setjmp(back_) != 0) return false;
    jpeg_create_decompress(&jpeg_);
    created_ = true;
    jpeg_.progress = &progress_;
    jpeg_mem_src(&jpeg_, bytes_.data(), static_cast<unsigned long>(bytes_.size()));
    return jpeg_read_header(&jpeg_, TRUE) == JPEG_HEADER_OK;
  }

  unsigned int width_px() const { return jpeg_.image_width; }
  unsigned int height_px() const { return jpeg_.image_height; }
  J_COLOR_SPACE colours() const { return jpeg_.jpeg_color_space; }

  /// Four inks, which are for a printing press.
  bool inks() const { return colours() == JCS_CMYK || colours() == JCS_YCCK; }

  /// @pre start() said true. `pixels` has the header's size and as many channels as the colours:
  /// one for grey, four for inks, else three.
  bool read_rows(uchar* pixels, std::size_t step) {
    if (setjmp(back_) != 0) return false;
    jpeg_.out_color_space = inks()                       ? JCS_CMYK
                            : colours() == JCS_GRAYSCALE ? JCS_GRAYSCALE
                                                         : JCS_EXT_BGR;
    jpeg_start_decompress(&jpeg_);
    while (jpeg_.output_scanline < jpeg_.output_height) {
      JSAMPROW rows[8];
      const JDIMENSION left = jpeg_.output_height - jpeg_.output_scanline;
      const JDIMENSION count = left < 8 ? left : 8;
      for (JDIMENSION i = 0; i < count; ++i) {
        rows[i] = pixels + (jpeg_.output_scanline + i) * step;
      }
      jpeg_read_scanlines(&jpeg_, rows, count);
    }
    // Before the decoder gives its memory back.
    if (damage_[0] == '\0' && !all_passes_came()) {
      std::snprintf(damage_, sizeof(damage_), "its last passes are missing");
    }
    jpeg_finish_decompress(&jpeg_);
    return true;
  }

  /// The first damage that matters; empty if none.
  const char* damage() const { return damage_; }

 private:
  /// Of a progressive file, which sharpens pass by pass: cut between two passes and closed with an
  /// end marker it decodes without a complaint.
  /// @pre The decompression is not finished: then what it knew of the passes is gone.
  bool all_passes_came() const {
    if (jpeg_.progressive_mode == FALSE || jpeg_.coef_bits == nullptr) return true;
    for (int component = 0; component < jpeg_.num_components; ++component) {
      for (const int bits_left : jpeg_.coef_bits[component]) {
        if (bits_left != 0) return false;
      }
    }
    return true;
  }

  static Decoder& self(j_common_ptr jpeg) { return *static_cast<Decoder*>(jpeg->client_data); }

  [[noreturn]] static void leave(j_common_ptr jpeg) {
    Decoder& decoder = self(jpeg);
    jpeg->err->format_message(jpeg, decoder.damage_);
    std::longjmp(decoder.back_, 1);
  }

  /// Odd headers, and bytes between segments, which many cameras write. Not harmless: many bytes
  /// left over when the picture is full, for then its codes were misread; libjpeg-turbo does not
  /// always say so itself.
  static bool harmless(const jpeg_error_mgr& errors) {
    constexpr int kFewBytes = 64, kFirstRestart = 0xD0, kEnd = 0xD9;
    if (errors.msg_code == JWRN_EXTRANEOUS_DATA) {
      const int bytes = errors.msg_parm.i[0], before = errors.msg_parm.i[1];
      return bytes <= kFewBytes || before < kFirstRestart || before > kEnd;
    }
    return errors.msg_code == JWRN_JFIF_MAJOR || errors.msg_code == JWRN_ADOBE_XFORM ||
           errors.msg_code == JWRN_BOGUS_ICC;
  }

  static void note(j_common_ptr jpeg, int level) {
    Decoder& decoder = self(jpeg);
    if (level >= 0 || decoder.damage_[0] != '\0' || harmless(*jpeg->err)) return;
    jpeg->err->format_message(jpeg, decoder.damage_);
  }

  /// A small progressive file can ask for thousands of passes over a large picture.
  static void limit_scans(j_common_ptr jpeg) {
    constexpr int kMostScans = 100;
    Decoder& decoder = self(jpeg);
    if (decoder.jpeg_.input_scan_number <= kMostScans) return;
    std::snprintf(decoder.damage_, sizeof(decoder.damage_), "more than %d passes", kMostScans);
    std::longjmp(decoder.back_, 1);
  }

  std::span<const uchar> bytes_;
  jpeg_decompress_struct jpeg_{};
  jpeg_error_mgr errors_{};
  jpeg_progress_mgr progress_{};
  std::jmp_buf back_{};
  bool created_ = false;
  char damage_[JMSG_LENGTH_MAX] = {};
};

}  // namespace

void decode_jpeg(std::span<const uchar> bytes, Photo& photo) {
  const JpegParts parts = segments_of(bytes);
  if (!parts.complete) reject_truncated(photo);
  const ExifFacts facts = read_exif(parts.exif);
  photo.orientation = facts.orientation;
  take_camera(facts, photo);

  Decoder decoder(bytes);
  if (!decoder.start()) reject_damaged(photo, decoder.damage());
  require_sane_size(photo, decoder.width_px(), decoder.height_px());
  const int type = decoder.inks()                       ? CV_8UC4
                   : decoder.colours() == JCS_GRAYSCALE ? CV_8UC1
                                                        : CV_8UC3;
  photo.pixels.create(static_cast<int>(decoder.height_px()), static_cast<int>(decoder.width_px()),
                      type);
  const bool whole = decoder.read_rows(photo.pixels.data, photo.pixels.step[0]);
  if (!whole || decoder.damage()[0] != '\0') reject_damaged(photo, decoder.damage());
  if (decoder.inks()) photo.pixels = decode_with_opencv(bytes, photo);
}

}  // namespace evenbevel
