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
#include "units/sha256.hpp"

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

FocusLock lock_focus(VideoStream& camera) {
  constexpr double kSame = 1.0;  // of the control's steps, 0 to some hundreds
  const double focus = camera.get(cv::CAP_PROP_FOCUS);
  const bool switched = camera.set(cv::CAP_PROP_AUTOFOCUS, 0.0);
  if (!switched || camera.get(cv::CAP_PROP_AUTOFOCUS) != 0.0) {
    return {.refused = "the camera does not let its autofocus be switched off"};
  }
  if (!camera.set(cv::CAP_PROP_FOCUS, focus) ||
      std::abs(camera.get(cv::CAP_PROP_FOCUS) - focus) > kSame) {
    return {.refused = "the camera does not say where its focus stands, nor let it be set"};
  }
  return {.locked = true};
}

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

double FrameSource::rate() const { return capture_->video->get(cv::CAP_PROP_FPS); }

FocusLock FrameSource::lock_focus() {
  return capture_->device ? evenbevel::lock_focus(*capture_->video) : FocusLock{.locked = true};
}

void FrameSource::release_focus() {
  if (capture_->device) capture_->video->set(cv::CAP_PROP_AUTOFOCUS, 1.0);
}

const std::string& FrameSource::name() const { return capture_->name; }
bool FrameSource::is_device() const { return capture_->device; }

namespace live_detail {

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

}  // namespace live_detail

struct FrameAverage::Sum {
  cv::Mat sum = {};  ///< CV_32SC3.
  int used = 0;
  int seen = 0;
  std::optional<live_detail::StillnessCheck> still = {};
};

FrameAverage::FrameAverage() : sum_(std::make_unique<Sum>()) {}
FrameAverage::~FrameAverage() = default;
FrameAverage::FrameAverage(FrameAverage&& other) noexcept = default;
FrameAverage& FrameAverage::operator=(FrameAverage&& other) noexcept = default;

void FrameAverage::add(const cv::Mat& bgr) {
  ++sum_->seen;
  if (!sum_->still) {
    sum_->still.emplace(bgr);
    sum_->sum = cv::Mat::zeros(bgr.size(), CV_32SC3);
  }
  if (!sum_->still->same(bgr)) return;
  cv::add(sum_->sum, bgr, sum_->sum, cv::noArray(), CV_32S);
  ++sum_->used;
}

int FrameAverage::seen() const { return sum_->seen; }

namespace {

void require_enough(int used, int seen, const std::string& source) {
  if (seen == 0) {
    throw Error("video source " + source + " gives no picture",
                "check that the camera is not covered or in use, or that the file is a video");
  }
  if (2 * used <= seen && seen > 1) {
    throw Error("only " + std::to_string(used) + " of " + std::to_string(seen) + " frames from " +
                    source + " show the same picture",
                "stand the camera firmly, leave the blade and the light alone, then try again");
  }
}

std::vector<Remark> remarks(int used, int seen, int wanted) {
  std::vector<Remark> out;
  const int left_out = seen - used;
  if (left_out > 0) out.push_back(remark<RemarkCode::frames_left_out>(left_out, seen));
  if (seen < wanted) out.push_back(remark<RemarkCode::source_ended>(seen, wanted));
  return out;
}

}  // namespace

Photo FrameAverage::photo(const std::string& source, int wanted) const {
  require_enough(sum_->used, sum_->seen, source);
  Photo photo;
  photo.name = source;
  sum_->sum.convertTo(photo.pixels, CV_16U, 65535.0 / 255.0 / sum_->used);
  photo.warnings = remarks(sum_->used, sum_->seen, wanted);
  return photo;
}

Photo average_frames(const std::string& source, int frames) {
  assert(frames >= 1);
  FrameSource input(source);
  FrameAverage average;
  while (average.seen() < frames) {
    const std::optional<cv::Mat> frame = input.next();
    if (!frame) break;
    average.add(*frame);
  }
  Photo photo = average.photo(source, frames);
  if (!input.is_device()) photo.sha256 = sha256_of_file(source).value_or("");
  return photo;
}

}  // namespace evenbevel
