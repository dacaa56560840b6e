#include "options.hpp"

#include <iostream>

#include "commands.hpp"
#include "print_scale.hpp"

namespace evenbevel::cli {

LengthUnit CommonOptions::unit() const {
  if (units == "thou") return LengthUnit::thou;
  return units == "in" ? LengthUnit::inch : LengthUnit::mm;
}

void add_common_options(CLI::App& command, CommonOptions& options,
                        const std::string& tolerance_of) {
  command.add_option("-o,--output", options.folder,
                     "Folder for annotated.jpg, report.json, stations.csv and report.html [called "
                     "as the photo]");
  command.add_option("--camera-file", options.camera_file,
                     "From 'evenbevel calibrate'; without it the intervals are wider");
  add_printed_bar(command, options.printed_bar);
  command.add_option("--tolerance", options.tolerance,
                     tolerance_of + ": within, outside or unresolved is said");
  command.add_option("--units", options.units, "For output and bare numbers")
      ->check(CLI::IsMember({"mm", "in", "thou"}))
      ->capture_default_str();
}

std::optional<double> length_mm(const std::string& option, const std::string& text,
                                LengthUnit bare) {
  if (text.empty()) return std::nullopt;
  const std::optional<double> mm = parse_length_mm(text, bare);
  if (!mm || *mm <= 0.0) {
    throw CLI::ValidationError(option, "'" + text +
                                           "' is not a length above zero; write for example "
                                           "3.2mm, 0.125in or 10thou");
  }
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
          .command_line = options.command_line};
}

CameraModel camera_for(const Photo& photo, const std::string& camera_file) {
  return camera_file.empty() ? guess_camera(photo) : read_camera_file(camera_file);
}

int exit_code_of(Verdict verdict) {
  return verdict == Verdict::outside || verdict == Verdict::unresolved ? 1 : 0;
}

Error in_unit(const Error& error, LengthUnit unit) {
  return {error.what_is_wrong().said(unit), error.what_to_do().said(unit)};
}

void print_files(const std::string& folder) {
  std::cout << "picture  " << (std::filesystem::path(folder) / "annotated.jpg").string()
            << "\nreport   " << (std::filesystem::path(folder) / "report.html").string() << '\n';
}

std::string help_exit_codes() {
  return "Exit code: 0 measured (within --tolerance, or none given), 1 outside or not resolved,\n"
         "2 wrong use, 3 the photo cannot be measured, 4 an internal fault.\n";
}

}  // namespace evenbevel::cli
