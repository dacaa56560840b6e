#include <chrono>
#include <cmath>
#include <optional>
#include <utility>

#include "evenbevel/live.hpp"
#include "evenbevel/media.hpp"
#include "evenbevel/photo.hpp"
#include "gather_views.hpp"

namespace evenbevel::cli {
namespace {

/// Frames of a film or camera until enough is seen.
class FrameGathering {
 public:
  FrameGathering(const std::string& source, int wanted, const CalibrationBoard& board,
                 Progress& progress)
      : wanted_(wanted), board_(board), progress_(progress), source_(source) {}

  Gathered run() {
    while (!finished()) {
      const std::optional<cv::Mat> frame = source_.next();
      if (!frame) break;
      look_at(*frame);
    }
    if (window_) close_windows();
    if (!picker_ || picker_->taken().empty()) {
      reject_all("0 of " + std::to_string(frames_) + " frames of " + source_.name(), board_, {});
    }
    gathered_.views = picker_->taken();
    return std::move(gathered_);
  }

 private:
  using Clock = std::chrono::steady_clock;

  bool enough() const {
    constexpr double kSeen = 0.9;
    return picker_ && static_cast<int>(picker_->taken().size()) >= wanted_ &&
           picker_->coverage().share() >= kSeen;
  }

  bool finished() const {
    constexpr int kMostTimesWanted = 3;
    constexpr std::chrono::minutes kPatience{3};
    if (stopped_ || enough()) return true;
    if (picker_ && static_cast<int>(picker_->taken().size()) >= kMostTimesWanted * wanted_) {
      return true;
    }
    return source_.is_device() && Clock::now() - last_taken_ > kPatience;
  }

  void look_at(const cv::Mat& frame) {
    ++frames_;
    if (!picker_) {
      picker_.emplace(frame.size());
      gathered_.camera.width_px = frame.cols;
      gathered_.camera.height_px = frame.rows;
    }
    BoardSighting sighting = sight_board(frame_name(), grey8(frame), board_);
    if (sighting.left_out) sighting.view = CalibrationView{frame_name(), {}, {}};
    const FramePicker::Answer answer = picker_->offer(sighting.view);
    if (answer == FramePicker::Answer::taken) {
      last_taken_ = Clock::now();
      progress_.keep(sighting.view.name + ": " + described(sighting) + ", " + status());
    } else {
      report(frame_name() + ": " + status() + hint(sighting, answer));
    }
    if (window_) show(frame, sighting, answer);
  }

  std::string frame_name() const {
    std::string name = "frame ";
    return name += std::to_string(frames_);
  }

  /// Frames that were not taken: all of them on a terminal, a sign of life in a log.
  void report(const std::string& text) {
    constexpr int kSignOfLife = 100;
    if (progress_.terminal()) {
      progress_.moment(text);
    } else if (frames_ % kSignOfLife == 0) {
      progress_.keep(text);
    }
  }

  std::string status() const {
    return std::to_string(picker_->taken().size()) + " of " + std::to_string(wanted_) + " views, " +
           std::to_string(std::lround(100.0 * picker_->coverage().share())) + " % of the picture";
  }

  std::string hint(const BoardSighting& sighting, FramePicker::Answer answer) const {
    if (sighting.left_out) return "; " + sighting.left_out->reason;
    if (answer == FramePicker::Answer::moving) return "; hold still";
    if (answer == FramePicker::Answer::nothing_new) return "; tilt it, or show it elsewhere";
    return "";
  }

  void show(const cv::Mat& frame, const BoardSighting& sighting, FramePicker::Answer answer) {
    constexpr int kEscape = 27;
    constexpr int kEnter = 13;
    const std::string words = status() + hint(sighting, answer) + "  (Enter: done)";
    const int key = show_picture("evenbevel calibrate",
                                 picking_picture(frame, *picker_, sighting.view, words), 1);
    stopped_ = key == kEscape || key == kEnter || key == 'q';
  }

  int wanted_;
  const CalibrationBoard& board_;
  Progress& progress_;
  FrameSource source_;
  bool window_ = source_.is_device() && has_display();
  bool stopped_ = false;
  int frames_ = 0;
  Clock::time_point last_taken_ = Clock::now();
  std::optional<FramePicker> picker_;
  Gathered gathered_;
};

}  // namespace

Gathered gather_frames(const std::string& source, int wanted, const CalibrationBoard& board,
                       Progress& progress) {
  return FrameGathering(source, wanted, board, progress).run();
}

}  // namespace evenbevel::cli
