#include "options.hpp"

#include <array>
#include <charconv>
#include <cmath>
#include <iostream>
#include <system_error>

#include <fcntl.h>
#include <spawn.h>
#include <unistd.h>

#include "commands.hpp"
#include "evenbevel/printed.hpp"
#include "evenbevel/refused_picture.hpp"
#include "print_scale.hpp"
#include "shop.hpp"

namespace evenbevel::cli {
namespace {

std::string plain(double number) {
  std::array<char, 32> text{};
  const auto [end, fault] =
      std::to_chars(text.data(), text.data() + text.size(), number, std::chars_format::fixed);
  return {text.data(), fault == std::errc() ? end : text.data()};
}

/// The program in the background, what it says thrown away. @return  Whether there is such a one.
bool start(const std::string& program, const std::string& argument) {
  posix_spawn_file_actions_t quiet;
  posix_spawn_file_actions_init(&quiet);
  for (const int descriptor : {STDOUT_FILENO, STDERR_FILENO}) {
    posix_spawn_file_actions_addopen(&quiet, descriptor, "/dev/null", O_WRONLY, 0);
  }
  std::string name = program, given = argument;
  char* const arguments[] = {name.data(), given.data(), nullptr};
  pid_t process = 0;
  const int fault = posix_spawnp(&process, program.c_str(), &quiet, nullptr, arguments, ::environ);
  posix_spawn_file_actions_destroy(&quiet);
  return fault == 0;
}

}  // namespace

LengthUnit CommonOptions::unit() const { return length_unit(units); }

void add_units(CLI::App& command, std::string& units, const std::string& what) {
  command.add_option("--units", units, what + " [mm, or as shop.toml says]")
      ->check(CLI::IsMember({"mm", "in", "thou"}));
}

std::string exact_mm(double mm) {
  std::array<char, 400> text{};  // the largest double has 309 digits before the point
  const auto [end, fault] =
      std::to_chars(text.data(), text.data() + text.size(), mm, std::chars_format::fixed);
  return std::string(text.data(), fault == std::errc() ? end : text.data()) + "mm";
}

void add_common_options(CLI::App& command, CommonOptions& options,
                        const std::string& tolerance_of) {
  command
      .add_option("-o,--output", options.folder,
                  "Folder for annotated.jpg, report.json, stations.csv and report.html [called "
                  "as the photo]")
      ->type_name("FOLDER");
  command.add_flag("--open", options.open, "Show the report in the browser");
  command.add_flag("--show-refused", options.show_refused,
                   "When the photo is refused, write refused.jpg into that folder: the photo with "
                   "what was found in it");
  command
      .add_option("--camera-file", options.camera_file,
                  "From 'evenbevel calibrate' [the one that the photo's EXIF finds; without any "
                  "the intervals are wider]")
      ->type_name("FILE");
  add_printed_bar(command, options.printed_bar);
  command
      .add_option("--tolerance", options.tolerance,
                  tolerance_of + ": within, outside or unresolved is said")
      ->type_name("LENGTH");
  add_units(command, options.units, "For output and bare numbers");
}

void require_range(const std::string& option, const std::string& text, double mm, LengthUnit unit,
                   const LengthRange& range) {
  if (mm >= range.least_mm && mm <= range.most_mm) return;
  throw CLI::ValidationError(option, "'" + text + "' is out of range: allowed is " +
                                         trimmed_length(range.least_mm, unit) + " to " +
                                         trimmed_length(range.most_mm, unit));
}

CLI::Validator number_from(double least, double most) {
  return {[least, most](std::string& text) {
            double number = 0.0;
            const bool read = CLI::detail::lexical_cast(text, number);
            if (read && number >= least && number <= most) return std::string();
            return "'" + text + "' is out of range: allowed is " + plain(least) + " to " +
                   plain(most);
          },
          plain(least) + " to " + plain(most)};
}

CLI::Validator count_number() {
  return {[](std::string& text) {
            const bool digits = !text.empty() && text.size() < 20 &&
                                text.find_first_not_of("0123456789") == std::string::npos;
            if (digits) return std::string();
            return "'" + text + "' is out of range: allowed is a whole number, 0 or more";
          },
          ""};
}

std::optional<double> length_mm(const std::string& option, const std::string& text, LengthUnit bare,
                                const LengthRange& range) {
  if (text.empty()) return std::nullopt;
  const std::optional<double> mm = parse_length_mm(text, bare);
  if (!mm || *mm <= 0.0) {
    throw CLI::ValidationError(option, "'" + text +
                                           "' is not a length above zero; write for example "
                                           "3.2mm, 0.125in or 10thou");
  }
  require_range(option, text, *mm, bare, range);
  return mm;
}

void add_default_folder(CommonOptions& options, const std::string& photo) {
  if (!options.folder.empty()) return;
  const std::filesystem::path path(photo);
  options.folder = path.stem().string() + (path.has_extension() ? "" : "-report");
}

ReportSettings report_settings(const CommonOptions& options) {
  return {.unit = options.unit(),
          .tolerance_mm = length_mm("--tolerance", options.tolerance, options.unit()),
          .command_line = options.command_line,
          .from = options.from};
}

void draw_refused(const CommonOptions& options, const Photo& photo, CardKind card,
                  const std::string& folder, std::ostream& told) {
  if (!options.show_refused) return;
  try {
    write_refused_picture(photo, card, folder);
  } catch (const Error& e) {
    told << "evenbevel: " << e.what() << '\n';  // what the photo lacks is said all the same
    return;
  }
  told << "evenbevel: what was found in the photo: " << folder << '/' << kRefusedPicture << '\n';
}

int exit_code_of(Verdict verdict) {
  return verdict == Verdict::outside || verdict == Verdict::unresolved ? 1 : 0;
}

Error in_unit(const Error& error, LengthUnit unit) {
  return {error.what_is_wrong().said(unit), error.what_to_do().said(unit)};
}

void open_page(const std::filesystem::path& page) {
  if (start("xdg-open", page.string())) return;
  std::cerr << "--open: there is no xdg-open here; open " << page.string() << " in a browser\n";
}

void show_files(const CommonOptions& options) {
  const std::filesystem::path folder(options.folder);
  std::cout << "picture  " << (folder / "annotated.jpg").string() << "\nreport   "
            << (folder / "report.html").string() << std::endl;
  if (options.open) open_page(folder / "report.html");
}

std::string help_exit_codes() {
  return "Exit code: 0 measured (within --tolerance, or none given), 1 outside or not resolved,\n"
         "2 wrong use, 3 the photo cannot be measured, 4 an internal fault.\n";
}

}  // namespace evenbevel::cli
