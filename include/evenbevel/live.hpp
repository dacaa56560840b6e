#pragma once

#include <memory>
#include <optional>
#include <string>

#include <opencv2/core/mat.hpp>

#include "evenbevel/photo.hpp"

namespace evenbevel {

class VideoStream;

/// What became of switching off a camera's own focusing: a lens that moves between photos is
/// another lens.
struct FocusLock {
  bool locked = false;
  std::string refused = {};  ///< What the camera did not do, in a few words; empty: nothing.
};

/// Switches autofocus off, sets the focus where it is and reads both back. Which of a camera's
/// controls work only the camera says.
FocusLock lock_focus(VideoStream& camera);

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

  /// Frames a second, as the source says; 0: it does not.
  double rate() const;

  /// Holds the lens where it is: as FocusLock. A file has no lens, and locks.
  FocusLock lock_focus();
  /// Lets the camera focus by itself again.
  void release_focus();

  const std::string& name() const;  ///< The source string as given.
  bool is_device() const;           ///< A live camera: it never ends by itself.

 private:
  struct Capture;
  std::unique_ptr<Capture> capture_;
};

/// Frames added up, those left out that moved or changed against the first.
class FrameAverage {
 public:
  FrameAverage();
  ~FrameAverage();
  FrameAverage(FrameAverage&& other) noexcept;
  FrameAverage& operator=(FrameAverage&& other) noexcept;
  FrameAverage(const FrameAverage&) = delete;
  FrameAverage& operator=(const FrameAverage&) = delete;

  void add(const cv::Mat& bgr);  ///< CV_8UC3.
  int seen() const;              ///< Frames added or left out.

  /// As CV_16UC3 (65535 = white), with a warning where frames were left out, or fewer came than
  /// were wanted.
  /// @throws Error  No frame at all, or most of them moved against the first.
  Photo photo(const std::string& source, int wanted) const;

 private:
  struct Sum;
  std::unique_ptr<Sum> sum_;
};

/// Averages up to `frames` frames into one CV_16UC3 photo (65535 = white): noise falls with the
/// root of their number. Frames that moved or changed against the first are left out, and a warning
/// says how many; so does one when the source ended early.
/// @pre frames >= 1.
/// @throws Error  No frame at all, or most of them moved against the first.
Photo average_frames(const std::string& source, int frames);

}  // namespace evenbevel
