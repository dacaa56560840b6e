#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include <opencv2/core/mat.hpp>

namespace evenbevel {

// OpenCV's picture files, videos and windows. With them come some 250 shared libraries (GDAL,
// FFmpeg, Qt) that take 110 ms to load, as long as measuring a photo. So they live in a module
// library, evenbevel_media.so, which is loaded when the first of these functions is called: from
// the folder of the program (or of libevenbevel.so), else from where it is installed relative to
// that folder, else from the folder that evenbevel was configured to be installed in.
// Phone photos (JPEG, HEIC) and reports do without.
// Each function throws Error when that library is missing.

/// Decodes any picture file that OpenCV reads; empty when it cannot.
/// @param flags  cv::IMREAD_*.
/// @throws cv::Exception  A damaged file, at times.
cv::Mat decode_picture(std::span<const std::uint8_t> file, int flags);

/// @param extension  ".png", ".tiff": any that OpenCV writes. For JPEG see encode_jpeg.
/// @throws cv::Exception  The format does not take such pixels.
std::vector<std::uint8_t> encode_picture(const std::string& extension, const cv::Mat& pixels);

/// A video file, picture sequence or camera, through cv::VideoCapture.
class VideoStream {
 public:
  VideoStream() = default;
  VideoStream(const VideoStream&) = delete;
  VideoStream& operator=(const VideoStream&) = delete;
  virtual ~VideoStream() = default;

  /// False at the end. The picture may share the stream's own memory until the next call.
  virtual bool read(cv::Mat& picture) = 0;
  virtual bool set(int property, double value) = 0;  ///< cv::CAP_PROP_*.
  virtual double get(int property) const = 0;        ///< 0: there is none of that.
};

/// Empty when it cannot be opened.
/// @param backend  cv::CAP_*.
std::unique_ptr<VideoStream> open_camera(int number, int backend);
std::unique_ptr<VideoStream> open_video(const std::string& source);

/// Whether there is a display to show windows on.
bool has_display();

/// Shows a picture in the window of that name and waits for a key.
/// @return  The key's code; -1 when none was pressed in time.
/// @pre has_display()
int show_picture(const std::string& window, const cv::Mat& picture, int wait_ms);
void close_windows();

}  // namespace evenbevel
