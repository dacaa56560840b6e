#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "evenbevel/camera.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/report.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel::cli {

// What the measuring commands have in common.

/// As typed; lengths wait for --units.
struct CommonOptions {
  std::string folder;
  std::string camera_file;
  std::string tolerance;
  std::vector<std::string> printed_bar;
  std::string units = "mm";
  std::string command_line;

  LengthUnit unit() const;
};

/// -o, --camera-file, --tolerance, --printed-bar, --units.
/// @param tolerance_of  What the tolerance is on, for the help.
void add_common_options(CLI::App& command, CommonOptions& options, const std::string& tolerance_of);

/// Empty text gives an empty length.
/// @throws CLI::ValidationError  Not a length above zero.
std::optional<double> length_mm(const std::string& option, const std::string& text,
                                LengthUnit bare);

/// Where no -o was given: a folder here that is called as the photo without its ending.
void add_default_folder(CommonOptions& options, const std::string& photo);

ReportSettings report_settings(const CommonOptions& options);

/// From the camera file, or a guess from the photo.
CameraModel camera_for(const Photo& photo, const std::string& camera_file);

/// 1 when outside or not resolved.
int exit_code_of(Verdict verdict);

/// The error with its lengths in the unit that was asked for.
Error in_unit(const Error& error, LengthUnit unit);

/// Where the report lies.
void print_files(const std::string& folder);

/// The exit codes and cautions that a measuring command's help ends with.
std::string help_exit_codes();

}  // namespace evenbevel::cli
