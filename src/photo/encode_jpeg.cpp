// libjpeg directly rather than through OpenCV, whose picture library takes 60 ms to load.

#include <cassert>
#include <csetjmp>
#include <cstdio>
#include <cstdlib>
#include <memory>
#include <string_view>
#include <vector>

#include <jpeglib.h>

#include "evenbevel/error.hpp"
#include "evenbevel/photo.hpp"

namespace evenbevel {
namespace {

constexpr std::string_view kMaker = "evenbevel";  // By this a picture is known as its own.

/// Wraps libjpeg, which leaves by longjmp on fatal errors: no C++ object lives in the frames that
/// it leaves.
class Encoder {
 public:
  Encoder() {
    jpeg_.err = jpeg_std_error(&errors_);
    jpeg_.client_data = this;
    errors_.error_exit = leave;
  }
  ~Encoder() {
    if (created_) jpeg_destroy_compress(&jpeg_);
    std::free(file_);
  }
  Encoder(const Encoder&) = delete;
  Encoder& operator=(const Encoder&) = delete;

  bool write(const cv::Mat& pixels, int quality) {
    if (setjmp(back_) != 0) return false;
    jpeg_create_compress(&jpeg_);
    created_ = true;
    jpeg_mem_dest(&jpeg_, &file_, &size_);
    jpeg_.image_width = static_cast<JDIMENSION>(pixels.cols);
    jpeg_.image_height = static_cast<JDIMENSION>(pixels.rows);
    jpeg_.input_components = pixels.channels();
    jpeg_.in_color_space = pixels.channels() == 1 ? JCS_GRAYSCALE : JCS_EXT_BGR;
    jpeg_set_defaults(&jpeg_);
    jpeg_set_quality(&jpeg_, quality, TRUE);
    jpeg_start_compress(&jpeg_, TRUE);
    jpeg_write_marker(&jpeg_, JPEG_COM, reinterpret_cast<const JOCTET*>(kMaker.data()),
                      static_cast<unsigned>(kMaker.size()));
    while (jpeg_.next_scanline < jpeg_.image_height) {
      // libjpeg only reads the row, its type does not say so
      JSAMPROW row = const_cast<uchar*>(pixels.ptr(static_cast<int>(jpeg_.next_scanline)));
      jpeg_write_scanlines(&jpeg_, &row, 1);
    }
    jpeg_finish_compress(&jpeg_);
    return true;
  }

  std::vector<uchar> file() const { return {file_, file_ + size_}; }
  const char* failure() const { return failure_; }

 private:
  [[noreturn]] static void leave(j_common_ptr jpeg) {
    Encoder& encoder = *static_cast<Encoder*>(jpeg->client_data);
    jpeg->err->format_message(jpeg, encoder.failure_);
    std::longjmp(encoder.back_, 1);
  }

  jpeg_compress_struct jpeg_{};
  jpeg_error_mgr errors_{};
  std::jmp_buf back_{};
  bool created_ = false;
  uchar* file_ = nullptr;
  unsigned long size_ = 0;
  char failure_[JMSG_LENGTH_MAX] = {};
};

}  // namespace

std::vector<uchar> encode_jpeg(const cv::Mat& pixels, int quality) {
  assert(pixels.type() == CV_8UC1 || pixels.type() == CV_8UC3);
  Encoder encoder;
  if (!encoder.write(pixels, quality)) {
    throw Error(std::string("the picture cannot be written as JPEG: ") + encoder.failure(),
                "give a smaller picture");
  }
  return encoder.file();
}

}  // namespace evenbevel
