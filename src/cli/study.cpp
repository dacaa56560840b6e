#include <filesystem>
#include <iostream>
#include <memory>
#include <optional>
#include <string>

#include "commands.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/study_report.hpp"
#include "print_scale.hpp"
#include "settle.hpp"
#include "study_readings.hpp"

namespace evenbevel::cli {
namespace {

constexpr const char* kOffset = "centreline_offset";  ///< What the shop's tolerance is on.
constexpr int kDone = 0, kNotGoodEnough = 1;

void settle(StudyOptions& options) {
  const Shop shop = read_shop();
  options.csv_units = options.units;  // a file's bare numbers do not change with the shop's unit
  settle_units(options, shop);
  settle_printed_bar(options, shop, CardKind::edge);
  options.shops_tolerance = shop.tolerance;
}

/// Whether the shop's tolerance counts: it is one on the centreline offset.
bool of_shop(const StudyOptions& options, const std::string& quantity, ReadingKind kind) {
  return options.tolerance.empty() && quantity == kOffset && kind == ReadingKind::length &&
         !options.shops_tolerance.empty();
}

/// Lengths bring their unit; for angles and plain numbers there is none.
std::optional<double> tolerance_of(const StudyOptions& options, const StudyReadings& gathered) {
  if (gathered.kind == ReadingKind::length) {
    const bool shops = of_shop(options, gathered.quantity, gathered.kind);
    return length_mm("--tolerance", shops ? options.shops_tolerance : options.tolerance,
                     options.unit());
  }
  if (options.tolerance.empty()) return std::nullopt;
  const std::optional<double> number = parse_length_mm(options.tolerance, LengthUnit::mm);
  if (!number || *number <= 0.0) {
    throw CLI::ValidationError("--tolerance", "'" + options.tolerance + "' is not above zero");
  }
  return number;
}

std::optional<Measured> known_of(const StudyOptions& options) {
  const std::optional<double> known = length_mm("--known", options.known, options.unit());
  if (!known) return std::nullopt;
  if (options.csv_kind() != ReadingKind::length) {
    throw CLI::ValidationError("--known", "a gauge's width is a length: --units mm or in");
  }
  return Measured{*known, *length_mm("--known-u", options.known_u, options.unit())};
}

StudyReport study_of(const StudyOptions& options) {
  const std::optional<Measured> known = known_of(options);
  const StudyReadings gathered = gather_study(options);
  StudyReport report{.quantity = gathered.quantity,
                     .kind = gathered.kind,
                     .readings = gathered.readings,
                     .result = std::nullopt,
                     .bias = std::nullopt,
                     .tolerance = tolerance_of(options, gathered),
                     .left_out = gathered.left_out};
  StudySettings settings;
  if (report.tolerance) settings.tolerance_width = 2.0 * *report.tolerance;
  if (known) report.bias = bias_against(gathered.with_u, *known);
  if (!known || report.readings.size() > 1) report.result = study(report.readings, settings);
  return report;
}

int run_study(const StudyOptions& options) {
  const StudyReport report = study_of(options);
  ReportSettings settings;
  settings.unit = options.unit();
  settings.command_line = options.command_line;
  settings.from = options.from;
  if (report.tolerance) {
    settings.from.add_text("tolerance",
                           of_shop(options, report.quantity, report.kind) ? "shop.toml" : "option");
  }
  if (!options.folder.empty()) write_study_report(report, settings, options.folder);
  std::cout << study_text(report, settings);
  if (!options.folder.empty()) {
    std::cout << "report   " << (std::filesystem::path(options.folder) / "study.html").string()
              << std::endl;
    if (options.open) open_page(std::filesystem::path(options.folder) / "study.html");
  }
  const bool failed = report.tolerance && study_grade(report) == StudyGrade::not_good_enough;
  return failed ? kNotGoodEnough : kDone;
}

std::string study_footer() {
  return "Take each knife out, clamp it anew and photograph it again, three times or more; let\n"
         "another person do the same. Ten knives that differ, or ten places, make a good study.\n\n"
         "Examples:\n"
         "  evenbevel study knife1-1.jpg knife1-2.jpg knife2-1.jpg knife2-2.jpg "
         "--thickness 3.2mm\n"
         "  evenbevel study knife1-ann-1.jpg knife1-bo-1.jpg ... --thickness 3.2mm -o study/\n"
         "  evenbevel study reports/ --quantity land_width\n"
         "  evenbevel study list.csv --tolerance 0.001in       file,part,person,trial[,thickness]\n"
         "  evenbevel study readings.csv --units in            part,person,trial,value\n"
         "  evenbevel study gauge1.jpg gauge2.jpg --known 5.000mm --edge-height 4.6mm\n"
         "                                                     the bias against a flat gauge\n"
         "  evenbevel study gauge.csv --known 6.350mm          the same from its readings\n\n"
         "Exit code: 0 done, 1 the set-up uses up more than 30 % of --tolerance, 2 wrong use,\n"
         "3 the readings will not do (the message says why), 4 an internal fault.\n\n" +
         help_cautions();
}

void add_photo_options(CLI::App& command, StudyOptions& options) {
  command
      .add_option("--thickness", options.thickness,
                  "Photos: stock thickness between the flats, by micrometer")
      ->type_name("LENGTH");
  command.add_option("--camera-file", options.camera_file, "Photos: from 'evenbevel calibrate'")
      ->type_name("FILE");
  command
      .add_option("--edge-height", options.edge_height,
                  "Photos: edge, or top of the gauge, above the card's top")
      ->type_name("LENGTH");
  add_printed_bar(command, options.printed_bar);
  command.add_option("--shows,--stage", options.stage, "Photos: found when not given")
      ->check(CLI::IsMember({"scribed", "ground", "bevelled"}));
  command.add_option("--tip", options.tip, "Photos: where the tip points on the upright card")
      ->check(CLI::IsMember({"left", "right"}));
}

}  // namespace

void add_study(CLI::App& app, int& exit_code, const std::string& command_line) {
  auto options = std::make_shared<StudyOptions>();
  options->command_line = command_line;
  CLI::App* command = app.add_subcommand(
      "study", "Repeatability study: how much of what you read is your own set-up");
  command->footer(study_footer());
  command
      ->add_option("input", options->inputs,
                   "Photos of the edge, reports (report.json or their folders), or one CSV")
      ->required();
  command
      ->add_option("-o,--output", options->folder,
                   "Folder for study.json, study.csv and study.html")
      ->type_name("FOLDER");
  command->add_flag("--open", options->open, "Show study.html in the browser")->needs("--output");
  command
      ->add_option("--quantity", options->quantity,
                   "What was read, as in report.json [centreline_offset]")
      ->type_name("NAME");
  command
      ->add_option("--tolerance", options->tolerance,
                   "Allowed either way: says what share of it the set-up uses up")
      ->type_name("LENGTH");
  command
      ->add_option("--known", options->known,
                   "Width of a flat gauge in the blade's place: says the bias of its thickness")
      ->type_name("LENGTH");
  command->add_option("--known-u", options->known_u, "Standard uncertainty of that width")
      ->type_name("LENGTH")
      ->capture_default_str();
  command
      ->add_option("--units", options->units,
                   "For output and bare numbers [mm, or as shop.toml says]; a CSV of readings also "
                   "in deg or none")
      ->check(CLI::IsMember({"mm", "in", "thou", "deg", "none"}));
  add_photo_options(*command, *options);
  command->callback([options, &exit_code] {
    try {
      settle(*options);
      exit_code = run_study(*options);
    } catch (const Error& e) {
      throw in_unit(e, options->unit());
    }
  });
}

}  // namespace evenbevel::cli
