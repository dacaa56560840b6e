#include "evenbevel/calibrate.hpp"

#include <chrono>
#include <filesystem>
#include <iostream>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <unistd.h>

#include "commands.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/live.hpp"
#include "evenbevel/media.hpp"
#include "evenbevel/photo.hpp"
#include "evenbevel/units.hpp"
#include "print_scale.hpp"

namespace evenbevel::cli {
namespace {

constexpr double kBar_mm = 200.0;

struct CalibrateOptions {
  std::vector<std::filesystem::path> photos;
  std::string camera;
  std::filesystem::path output = "camera.yml";
  int views = 20;
  std::vector<std::string> printed_bar;
  std::string chessboard;
  std::string square = "25mm";
};

/// One line that renews itself on a terminal, one line a message elsewhere; on stderr.
class Progress {
 public:
  void say(const std::string& text) {
    if (!terminal_) {
      std::cerr << text << '\n';
      return;
    }
    constexpr std::size_t kWide = 96;
    std::string line = text.substr(0, kWide);
    line.resize(kWide, ' ');
    std::cerr << '\r' << line << std::flush;
    open_ = true;
  }
  /// For what must stay to be read.
  void keep(const std::string& text) {
    say(text);
    end();
  }
  void end() {
    if (open_) std::cerr << '\n';
    open_ = false;
  }

 private:
  bool terminal_ = isatty(STDERR_FILENO) != 0;
  bool open_ = false;
};

Chessboard chessboard_of(const CalibrateOptions& options) {
  Chessboard board;
  char extra = 0;
  const int read =
      std::sscanf(options.chessboard.c_str(), "%dx%d%c", &board.columns, &board.rows, &extra);
  if (read != 2 || board.columns < 3 || board.rows < 3 || board.columns > 100 || board.rows > 100) {
    throw CLI::ValidationError("--chessboard", "say the inner corners as 9x6, at least 3x3");
  }
  const std::optional<double> square_mm = parse_length_mm(options.square, LengthUnit::mm);
  if (!square_mm || !(*square_mm > 0.0)) {
    throw CLI::ValidationError("--square", "'" + options.square + "' is not a length such as 25mm");
  }
  board.square_mm = *square_mm;
  return board;
}

CalibrationBoard board_of(const CalibrateOptions& options) {
  CalibrationBoard board;
  board.print = print_scale(options.printed_bar, kBar_mm);
  if (!options.chessboard.empty()) board.chessboard = chessboard_of(options);
  return board;
}

std::string board_name(const CalibrationBoard& board) {
  return board.chessboard ? "chessboard" : "lens card";
}

/// What the photos or frames gave.
struct Gathered {
  std::vector<CalibrationView> views;
  std::vector<LeftOut> left_out;
  CameraModel camera;  ///< Size and identity.
};

[[noreturn]] void reject_all(const std::string& what, const CalibrationBoard& board,
                             const std::vector<LeftOut>& left_out) {
  std::string text = what + " shows the " + board_name(board);
  for (std::size_t i = 0; i < std::min<std::size_t>(3, left_out.size()); ++i) {
    text += (i == 0 ? ": " : "; ") + left_out[i].name + " (" + left_out[i].reason + ")";
  }
  throw Error(text, board.chessboard
                        ? "check the number of inner corners, and take photos with the whole board "
                          "in view, flat and sharp"
                        : "print the card ('evenbevel card lens'), tape it to something flat and "
                          "take 12 sharp photos that it fills");
}

std::vector<std::filesystem::path> all_files(const std::vector<std::filesystem::path>& given) {
  std::vector<std::filesystem::path> files;
  for (const std::filesystem::path& path : given) {
    const std::vector<std::filesystem::path> found = photo_files(path);
    files.insert(files.end(), found.begin(), found.end());
  }
  return files;
}

/// The first photo says which camera it is; one from another camera, zoom or size is left out.
std::string other_camera(Gathered& gathered, const Photo& photo) {
  if (gathered.camera.width_px == 0) {
    gathered.camera.width_px = photo.pixels.cols;
    gathered.camera.height_px = photo.pixels.rows;
    gathered.camera.identity = photo.camera;
    return "";
  }
  const std::string difference = camera_difference(gathered.camera, photo);
  return difference.empty() ? "" : "not like the first photo: " + difference;
}

BoardSighting look_at_photo(const std::filesystem::path& file, const CalibrationBoard& board,
                            Gathered& gathered) {
  BoardSighting sighting;
  sighting.view.name = file.filename().string();
  try {
    const Photo photo = read_photo(file);
    const std::string other = other_camera(gathered, photo);
    if (other.empty()) return sight_board(sighting.view.name, grey8(photo.pixels), board);
    sighting.left_out = LeftOut{sighting.view.name, 0, other};
  } catch (const Error& error) {
    sighting.left_out = LeftOut{sighting.view.name, 0, error.what()};
  }
  return sighting;
}

std::string described(const BoardSighting& sighting) {
  if (sighting.left_out) return "left out: " + sighting.left_out->reason;
  return std::to_string(sighting.view.points_px.size()) + " corners";
}

Gathered gather_photos(const CalibrateOptions& options, const CalibrationBoard& board,
                       Progress& progress) {
  const std::vector<std::filesystem::path> files = all_files(options.photos);
  Gathered gathered;
  std::vector<BoardSighting> sightings;
  for (std::size_t i = 0; i < files.size(); ++i) {
    const std::string head = std::to_string(i + 1) + "/" + std::to_string(files.size()) + " " +
                             files[i].filename().string();
    progress.say(head + " ...");
    sightings.push_back(look_at_photo(files[i], board, gathered));
    progress.keep(head + ": " + described(sightings.back()));
  }
  leave_out_blurred(sightings);
  for (BoardSighting& sighting : sightings) {
    if (sighting.left_out) {
      gathered.left_out.push_back(*sighting.left_out);
    } else {
      gathered.views.push_back(std::move(sighting.view));
    }
  }
  if (gathered.views.empty()) {
    reject_all("none of the " + std::to_string(files.size()) + " photos", board, gathered.left_out);
  }
  return gathered;
}

/// Frames of a film or camera until enough is seen.
class FrameGathering {
 public:
  FrameGathering(const CalibrateOptions& options, const CalibrationBoard& board, Progress& progress)
      : wanted_(options.views), board_(board), progress_(progress), source_(options.camera) {}

  Gathered run() {
    while (!finished()) {
      const std::optional<cv::Mat> frame = source_.next();
      if (!frame) break;
      look_at(*frame);
    }
    if (window_) close_windows();
    if (!picker_ || picker_->taken().empty()) {
      reject_all("none of the " + std::to_string(frames_) + " frames of " + source_.name(), board_,
                 {});
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
    BoardSighting sighting = sight_board("frame " + std::to_string(frames_), grey8(frame), board_);
    if (sighting.left_out) sighting.view.points_px.clear(), sighting.view.points_mm.clear();
    const FramePicker::Answer answer = picker_->offer(sighting.view);
    if (answer == FramePicker::Answer::taken) {
      last_taken_ = Clock::now();
      progress_.keep(sighting.view.name + ": " + described(sighting) + ", " + status());
    } else if (frames_ % 10 == 0) {
      progress_.say("frame " + std::to_string(frames_) + ": " + status() + hint(sighting, answer));
    }
    if (window_) show(frame, sighting, answer);
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

/// Before the work, not after it.
void require_folder(const std::filesystem::path& file) {
  const std::filesystem::path folder = file.has_parent_path() ? file.parent_path() : ".";
  if (std::filesystem::is_directory(folder) && !std::filesystem::is_directory(file)) return;
  throw Error(file.string() + " cannot be written",
              "choose a file in a folder that exists and may be written to");
}

int run_calibrate(const CalibrateOptions& options) {
  if (options.photos.empty() == options.camera.empty()) {
    throw CLI::ValidationError("calibrate", "give photos, a folder, or --camera SOURCE");
  }
  const CalibrationBoard board = board_of(options);
  require_folder(options.output);
  Progress progress;
  const Gathered gathered = options.camera.empty() ? gather_photos(options, board, progress)
                                                   : FrameGathering(options, board, progress).run();
  progress.end();
  CalibrationResult result =
      calibrate(gathered.views, cv::Size(gathered.camera.width_px, gathered.camera.height_px), {},
                gathered.left_out);
  result.camera.identity = gathered.camera.identity;
  const std::filesystem::path picture = options.output.parent_path() / "coverage.png";
  write_calibration(result, options.output, picture);
  std::cout << calibration_text(result) << "camera file       " << options.output.string()
            << "\ncoverage picture  " << picture.string() << '\n';
  return 0;
}

}  // namespace

void add_calibrate(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<CalibrateOptions>();
  CLI::App* command =
      app.add_subcommand("calibrate", "Find a camera's lens model from photos of the lens card");
  command->add_option("photos", options->photos, "Photos of the lens card, or a folder of them");
  command
      ->add_option("--camera", options->camera,
                   "Pick frames of a camera (0, 1, ...), a video file or a numbered picture "
                   "sequence instead")
      ->type_name("SOURCE");
  command
      ->add_option("-o,--output", options->output,
                   "Camera file to write; coverage.png goes beside it [camera.yml]")
      ->type_name("FILE");
  command->add_option("--views", options->views, "Frames to pick with --camera [20]")
      ->check(CLI::Range(5, 200));
  add_printed_bar(*command, options->printed_bar);
  command
      ->add_option("--chessboard", options->chessboard,
                   "Look for a plain chessboard instead of the lens card: inner corners, as 9x6")
      ->type_name("COLUMNSxROWS");
  command->add_option("--square", options->square, "Side of the chessboard's squares [25mm]")
      ->type_name("LENGTH");
  command->footer(
      "Example:\n  evenbevel calibrate lens-photos/ -o phone.yml\n"
      "Take 12 or more sharp photos with the card filling the picture, tilted by 20 to 45 degrees\n"
      "in different directions, some with the card in the corners, at the distance and focus at\n"
      "which you will measure.");
  command->callback([options, &exit_code] { exit_code = run_calibrate(*options); });
}

}  // namespace evenbevel::cli
