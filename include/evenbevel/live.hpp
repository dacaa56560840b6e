#pragma once

#include <memory>
#include <optional>
#include <string>

#include <opencv2/core/mat.hpp>

#include "evenbevel/photo.hpp"

namespace evenbevel {

/// Frames one after the other from a camera or a file: a device ("0" or "/dev/video0",
/// Video4Linux), a video file, a numbered image sequence ("frame_%02d.png") or any other string
/// that cv::VideoCapture takes. Frames come in the stored pixel grid.
///
/// A device is asked for its largest picture, so that every run gets the same pixel grid, and its
/// first frames are dropped while exposure settles.
class FrameSource {
 public:
  /// @throws Error  Cannot be opened; the message names the source.
  explicit FrameSource(const std::string& source);
  ~FrameSource();
  FrameSource(FrameSource&& other) noexcept;
  FrameSource& operator=(FrameSource&& other) noexcept;
  FrameSource(const FrameSource&) = delete;
  FrameSource& operator=(const FrameSource&) = delete;

  /// The next frame, CV_8UC3 (BGR), the caller's own copy; empty at the end, or when a device
  /// stops.
  std::optional<cv::Mat> next();

  const std::string& name() const;  ///< The source string as given.
  bool is_device() const;           ///< A live camera: it never ends by itself.

 private:
  struct Capture;
  std::unique_ptr<Capture> capture_;
};

/// Averages up to `frames` frames into one CV_16UC3 photo (65535 = white): noise falls with the
/// root of their number. Frames that moved or changed against the first are left out, and a warning
/// says how many; so does one when the source ended early.
/// @pre frames >= 1.
/// @throws Error  No frame at all, or most of them moved against the first.
Photo average_frames(const std::string& source, int frames);

}  // namespace evenbevel
