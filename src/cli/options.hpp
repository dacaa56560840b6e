#pragma once

#include <filesystem>
#include <iostream>
#include <optional>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "evenbevel/camera.hpp"
#include "evenbevel/card.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/photo.hpp"
#include "evenbevel/report.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel::cli {

// What the measuring commands have in common.

/// As typed; lengths wait for --units.
struct CommonOptions {
  std::string folder;
  bool open = false;          ///< Shows the report when it is written.
  bool show_refused = false;  ///< A refused photo is drawn with what was found in it.
  std::string camera_file;
  std::string tolerance;
  std::vector<std::string> printed_bar;
  std::string units;  ///< Empty: mm.
  std::string command_line;
  Facts from;  ///< Where each setting came from, as report.json has it.

  LengthUnit unit() const;
};

/// -o, --open, --camera-file, --tolerance, --printed-bar, --units.
/// @param tolerance_of  What the tolerance is on, for the help.
void add_common_options(CLI::App& command, CommonOptions& options, const std::string& tolerance_of);

/// "3.175mm": the shortest that reads back as the same number.
std::string exact_mm(double mm);

/// --units mm, in or thou.
void add_units(CLI::App& command, std::string& units, const std::string& what);

/// Which lengths make sense.
struct LengthRange {
  double least_mm = 0.0, most_mm = 0.0;
};
inline constexpr LengthRange kAnyLength{0.0001, 1000.0};  ///< 0.1 micrometre to a sword.
/// Of stock, in whatever unit it was meant: a photo tells which one fits, and the refusal names it.
inline constexpr LengthRange kStockRange{0.01, 300.0};
inline constexpr LengthRange kStepRange{0.1, 50.0};  ///< Between stations.

/// Empty text gives an empty length.
/// @throws CLI::ValidationError  Not a length above zero, or none in that range; which is named.
std::optional<double> length_mm(const std::string& option, const std::string& text, LengthUnit bare,
                                const LengthRange& range = kAnyLength);

/// @throws CLI::ValidationError  Out of range.
void require_range(const std::string& option, const std::string& text, double mm, LengthUnit unit,
                   const LengthRange& range);

/// A number from `least` to `most`; "nan" is none.
CLI::Validator number_from(double least, double most);

/// A whole number, not negative.
CLI::Validator count_number();

/// Where no -o was given: a folder here that is called as the photo without its ending.
void add_default_folder(CommonOptions& options, const std::string& photo);

ReportSettings report_settings(const CommonOptions& options);

/// 1 when outside or not resolved.
int exit_code_of(Verdict verdict);

/// The error with its lengths in the unit that was asked for.
Error in_unit(const Error& error, LengthUnit unit);

/// With --show-refused: the photo with what was found in it, as refused.jpg in the folder.
void draw_refused(const CommonOptions& options, const Photo& photo, CardKind card,
                  const std::string& folder, std::ostream& told = std::cerr);

/// Measures; where the photo is refused, it is drawn first.
template <class Measure>
auto drawn_when_refused(const CommonOptions& options, const Photo& photo, CardKind card,
                        const std::string& folder, Measure measure,
                        std::ostream& told = std::cerr) {
  try {
    return measure();
  } catch (const Error&) {
    draw_refused(options, photo, card, folder, told);
    throw;
  }
}

/// Where the report lies; with --open it is shown.
void show_files(const CommonOptions& options);

/// Shows a page in the browser, by xdg-open; says so where there is none.
void open_page(const std::filesystem::path& page);

/// The exit codes and cautions that a measuring command's help ends with.
std::string help_exit_codes();

}  // namespace evenbevel::cli
