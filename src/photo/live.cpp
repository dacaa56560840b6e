#include "evenbevel/live.hpp"

#include <algorithm>
#include <cassert>
#include <cctype>
#include <cmath>
#include <string_view>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>
#include <opencv2/videoio.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/media.hpp"

namespace evenbevel {
namespace {

// "MJPG" as videoio's four-character code, whose own function would pull that library in.
constexpr int kMotionJpeg = 'M' | ('J' << 8) | ('P' << 16) | ('G' << 24);

/// "0" or "/dev/video0"; empty for anything else.
std::optional<int> device_number(const std::string& source) {
  constexpr std::string_view kFolder = "/dev/video";
  const std::string digits = source.starts_with(kFolder) ? source.substr(kFolder.size()) : source;
  const auto digit = [](unsigned char c) { return std::isdigit(c) != 0; };
  if (digits.empty() || digits.size() > 3 || !std::ranges::all_of(digits, digit)) return {};
  return std::stoi(digits);
}

/// Any larger size is cut down by the driver to the largest it has. Uncompressed pictures of that
/// size rarely fit through USB 2, MJPEG does.
void ask_for_largest_picture(VideoStream& stream) {
  constexpr double kBeyondAny = 10000.0;
  stream.set(cv::CAP_PROP_FOURCC, kMotionJpeg);
  stream.set(cv::CAP_PROP_FRAME_WIDTH, kBeyondAny);
  stream.set(cv::CAP_PROP_FRAME_HEIGHT, kBeyondAny);
}

/// Empty when it cannot be opened.
std::unique_ptr<VideoStream> open_source(const std::string& source, std::optional<int> device) {
  try {
    return device ? open_camera(*device, cv::CAP_V4L2) : open_video(source);
  } catch (const cv::Exception&) {
    return nullptr;
  }
}

[[noreturn]] void reject_source(const std::string& source, bool device) {
  if (device) {
    throw Error("camera " + source + " cannot be opened",
                "plug it in, close other programs that use it, and check with "
                "'ls /dev/video*' which numbers there are");
  }
  throw Error("video source " + source + " cannot be opened",
              "give a camera's number, a video file or a numbered picture sequence such as "
              "frame_%02d.png");
}

}  // namespace

struct FrameSource::Capture {
  std::string name;
  bool device = false;
  std::unique_ptr<VideoStream> video;
};

FrameSource::FrameSource(const std::string& source) : capture_(std::make_unique<Capture>()) {
  constexpr int kSettlingFrames = 10;
  capture_->name = source;
  const std::optional<int> device = device_number(source);
  capture_->device = device.has_value();
  capture_->video = open_source(source, device);
  if (capture_->video == nullptr) reject_source(source, capture_->device);
  if (!capture_->device) return;
  ask_for_largest_picture(*capture_->video);
  cv::Mat dropped;
  for (int i = 0; i < kSettlingFrames; ++i) capture_->video->read(dropped);
}

FrameSource::~FrameSource() = default;
FrameSource::FrameSource(FrameSource&& other) noexcept = default;
FrameSource& FrameSource::operator=(FrameSource&& other) noexcept = default;

std::optional<cv::Mat> FrameSource::next() {
  cv::Mat frame;
  try {
    if (!capture_->video->read(frame) || frame.empty()) return std::nullopt;
  } catch (const cv::Exception&) {
    return std::nullopt;
  }
  if (frame.depth() == CV_16U) frame.convertTo(frame, CV_8U, 255.0 / 65535.0);
  if (frame.channels() == 1) {
    cv::cvtColor(frame, frame, cv::COLOR_GRAY2BGR);
    return frame;
  }
  if (frame.channels() == 4) {
    cv::cvtColor(frame, frame, cv::COLOR_BGRA2BGR);
    return frame;
  }
  return frame.clone();  // the capture may use its own buffer again
}

const std::string& FrameSource::name() const { return capture_->name; }
bool FrameSource::is_device() const { return capture_->device; }

namespace {

/// Tells whether a frame shows the same picture as the first one.
class StillnessCheck {
 public:
  explicit StillnessCheck(const cv::Mat& first) : first_(shrunken(first)), size_px_(first.size()) {
    cv::Sobel(first_, slope_x_, CV_32F, 1, 0, 3, 1.0 / 8.0);
    cv::Sobel(first_, slope_y_, CV_32F, 0, 1, 3, 1.0 / 8.0);
    const double xx = slope_x_.dot(slope_x_), xy = slope_x_.dot(slope_y_),
                 yy = slope_y_.dot(slope_y_);
    normal_ = {xx, xy, xy, yy};
  }

  bool same(const cv::Mat& frame) const {
    if (frame.size() != size_px_) return false;
    const cv::Mat now = shrunken(frame);
    return moved_px(now) < kMostMove && changed_part(now) < kMostChange;
  }

 private:
  static constexpr double kShrink = 4.0;
  // Shifts spread over twice that add 0.02 px2 to a blur of about 1 px2: 1 % of its width.
  static constexpr double kMostMove = 0.25;
  // Grey levels, in the worst block: sensor noise of 5 levels leaves 0.4, a passing hand leaves 20.
  static constexpr double kMostChange = 4.0;

  static cv::Mat shrunken(const cv::Mat& frame) {
    cv::Mat grey, small;
    cv::cvtColor(frame, grey, cv::COLOR_BGR2GRAY);
    cv::resize(grey, small, {}, 1.0 / kShrink, 1.0 / kShrink, cv::INTER_AREA);
    small.convertTo(small, CV_32F);
    return small;
  }

  /// Least squares: the shift along the first frame's slopes that explains the difference. A shift
  /// of several px comes out wrong, but never small. 0 where there is nothing to see.
  double moved_px(const cv::Mat& now) const {
    const cv::Mat difference = first_ - now;
    const cv::Vec2d seen(slope_x_.dot(difference), slope_y_.dot(difference));
    const cv::Vec2d shift = normal_.solve(seen, cv::DECOMP_SVD);
    return kShrink * std::hypot(shift[0], shift[1]);
  }

  /// Largest change of the mean of a block of 16 x 16: noise averages out, a hand does not.
  double changed_part(const cv::Mat& now) const {
    cv::Mat difference, blocks;
    cv::subtract(now, first_, difference);
    cv::resize(difference, blocks, {}, 1.0 / 16.0, 1.0 / 16.0, cv::INTER_AREA);
    return cv::norm(blocks, cv::NORM_INF);
  }

  cv::Mat first_, slope_x_, slope_y_;
  cv::Size size_px_;
  cv::Matx22d normal_;
};

struct Average {
  cv::Mat sum;  ///< CV_32SC3.
  int used = 0;
  int seen = 0;
};

void add(Average& average, const cv::Mat& frame) {
  if (average.sum.empty()) average.sum = cv::Mat::zeros(frame.size(), CV_32SC3);
  cv::add(average.sum, frame, average.sum, cv::noArray(), CV_32S);
  ++average.used;
}

Average average_still_frames(FrameSource& source, int frames) {
  Average average;
  std::optional<StillnessCheck> still;
  while (average.seen < frames) {
    const std::optional<cv::Mat> frame = source.next();
    if (!frame) break;
    ++average.seen;
    if (!still) still.emplace(*frame);
    if (still->same(*frame)) add(average, *frame);
  }
  return average;
}

void require_enough(const Average& average, const std::string& source) {
  if (average.seen == 0) {
    throw Error("video source " + source + " gives no picture",
                "check that the camera is not covered or in use, or that the file is a video");
  }
  if (2 * average.used <= average.seen && average.seen > 1) {
    throw Error("only " + std::to_string(average.used) + " of " + std::to_string(average.seen) +
                    " frames from " + source + " show the same picture",
                "stand the camera firmly, leave the blade and the light alone, then try again");
  }
}

std::vector<Remark> remarks(const Average& average, int frames) {
  std::vector<Remark> out;
  const int left_out = average.seen - average.used;
  if (left_out > 0) out.push_back(remark<RemarkCode::frames_left_out>(left_out, average.seen));
  if (average.seen < frames) {
    out.push_back(remark<RemarkCode::source_ended>(average.seen, frames));
  }
  return out;
}

}  // namespace

Photo average_frames(const std::string& source, int frames) {
  assert(frames >= 1);
  FrameSource input(source);
  const Average average = average_still_frames(input, frames);
  require_enough(average, source);
  Photo photo;
  photo.name = source;
  average.sum.convertTo(photo.pixels, CV_16U, 65535.0 / 255.0 / average.used);
  photo.warnings = remarks(average, frames);
  return photo;
}

}  // namespace evenbevel
