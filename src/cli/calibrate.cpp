#include "evenbevel/calibrate.hpp"

#include <cstdio>
#include <filesystem>
#include <iostream>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "commands.hpp"
#include "evenbevel/camera_store.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/units.hpp"
#include "gather_views.hpp"
#include "options.hpp"
#include "print_scale.hpp"
#include "shop.hpp"

namespace evenbevel::cli {
namespace {

struct CalibrateOptions {
  std::vector<std::filesystem::path> photos;
  std::string camera;
  std::filesystem::path output = "camera.yml";
  int views = 20;
  std::vector<std::string> printed_bar;
  std::string chessboard;
  std::string square = "25mm";
  bool locked_lens = false;
  std::string lens{lens_models().front()->name()};
};

std::vector<std::string> lens_names() {
  std::vector<std::string> names;
  for (const LensModel* model : lens_models()) names.emplace_back(model->name());
  return names;
}

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

CalibrationBoard board_of(const CalibrateOptions& options, const Shop& shop) {
  CalibrationBoard board;
  board.print = print_scale(
      options.printed_bar.empty() ? shop.bar_of(CardKind::lens) : options.printed_bar, kBar_mm);
  if (!options.chessboard.empty()) board.chessboard = chessboard_of(options);
  return board;
}

/// What was measured once need not be typed again. Empty: nothing was typed, or shop.toml has a
/// word on it.
std::string bar_kept(const CalibrateOptions& options, const Shop& shop) {
  const std::optional<std::filesystem::path> file = shop_file();
  if (options.printed_bar.empty() || !options.chessboard.empty() || !file ||
      !shop.bar_of(CardKind::lens).empty()) {
    return "";
  }
  std::vector<std::string> bar;
  for (const std::string& typed : options.printed_bar)
    bar.push_back(exact_mm(parse_length_mm(typed, LengthUnit::mm).value()));
  const std::string head = "printed bar       ";
  try {
    remember_bar(*file, CardKind::lens, bar);
    return head + "kept for the lens card in " + file->string() + "\n";
  } catch (const Error& e) {
    return head + "not kept: " + e.what() + "\n";
  }
}

/// Into the data folder, so that the camera's photos find it.
std::string kept(const CameraModel& camera) {
  const std::optional<std::filesystem::path> folder = default_camera_folder();
  const std::string head = "kept              ";
  if (!names_camera(camera.identity)) {
    return head +
           "no: the photos do not say which camera took them (no EXIF); give the file each time "
           "(--camera-file)\n";
  }
  if (!folder) return head + "no: there is no home folder\n";
  const KeptCamera done = keep_camera(camera, *folder);
  return head + done.file.string() +
         (done.replaced ? " (in place of the earlier one of this camera and lens)\n" : "\n") +
         "                  photos of this camera, lens and picture size need no --camera-file\n";
}

/// Before the work, not after it.
void require_folder(const std::filesystem::path& file) {
  const std::filesystem::path folder = file.has_parent_path() ? file.parent_path() : ".";
  if (std::filesystem::is_directory(folder) && !std::filesystem::is_directory(file)) return;
  throw Error(file.string() + " cannot be written",
              "choose a file in a folder that exists and may be written to");
}

/// One of its own beside each camera file: phone-coverage.png of phone.yml.
std::filesystem::path coverage_picture(const std::filesystem::path& camera_file) {
  return camera_file.parent_path() / (camera_file.stem().string() + "-coverage.png");
}

int run_calibrate(const CalibrateOptions& options) {
  if (options.photos.empty() == options.camera.empty()) {
    throw CLI::ValidationError("calibrate", "give photos, a folder, or --camera SOURCE");
  }
  const Shop shop = read_shop();
  const CalibrationBoard board = board_of(options, shop);
  require_folder(options.output);
  Progress progress;
  const Gathered gathered = options.camera.empty()
                                ? gather_photos(options.photos, board, progress)
                                : gather_frames(options.camera, options.views, board, progress);
  progress.end();
  CalibrationResult result =
      calibrate(gathered.views, cv::Size(gathered.camera.width_px, gathered.camera.height_px),
                {.lens = find_lens_model(options.lens)}, gathered.left_out);
  result.camera.identity = gathered.camera.identity;
  result.camera.lens_locked = options.locked_lens;
  const std::filesystem::path picture = coverage_picture(options.output);
  write_calibration(result, options.output, picture);
  std::cout << calibration_text(result) << "camera file       " << options.output.string()
            << "\ncoverage picture  " << picture.string() << '\n'
            << kept(result.camera) << bar_kept(options, shop);
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
                   "Camera file to write; its coverage picture goes beside it, called "
                   "NAME-coverage.png [camera.yml]")
      ->type_name("FILE");
  command->add_option("--views", options->views, "Frames to pick with --camera [20]")
      ->check(CLI::Range(5, 200));
  command->add_flag("--locked-lens", options->locked_lens,
                    "Focus is fixed or switched to manual and nothing stabilises the picture: the "
                    "lens is held as calibrated. Else it counts as a phone's, which moves");
  command
      ->add_option(
          "--lens", options->lens,
          "Lens model: fisheye for a wide-angle or action camera in whose pictures straight "
          "lines bow, pinhole for a phone, webcam or other camera [pinhole]")
      ->type_name("MODEL")
      ->check(CLI::IsMember(lens_names()));
  add_printed_bar(*command, options->printed_bar);
  command
      ->add_option("--chessboard", options->chessboard,
                   "Look for a plain chessboard instead of the lens card: inner corners, as 9x6")
      ->type_name("COLUMNSxROWS");
  command->add_option("--square", options->square, "Side of the chessboard's squares [25mm]")
      ->type_name("LENGTH");
  command->footer(
      "Examples:\n"
      "  evenbevel calibrate lens-photos/ -o phone.yml\n"
      "  evenbevel calibrate lens-photos/ --printed-bar 199.4mm 199.1mm -o phone.yml\n"
      "  evenbevel calibrate --camera 0 --locked-lens -o usb.yml\n"
      "  evenbevel calibrate action-photos/ --lens fisheye -o action.yml\n"
      "  evenbevel calibrate left*.jpg --chessboard 9x6 --square 25mm -o other.yml\n\n"
      "Take 12 or more sharp photos with the card filling the picture, tilted by 20 to 45 degrees\n"
      "in different directions, some with the card in the corners, at the distance and focus at\n"
      "which you will measure. Exit code: 0 done, 2 wrong use, 3 the photos will not do.\n\n" +
      help_cautions());
  command->callback([options, &exit_code] { exit_code = run_calibrate(*options); });
}

}  // namespace evenbevel::cli
