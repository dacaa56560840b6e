#include <algorithm>
#include <cstdint>
#include <filesystem>
#include <iomanip>
#include <iostream>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "commands.hpp"
#include "edge_options.hpp"
#include "evenbevel/advice.hpp"
#include "evenbevel/edge_set.hpp"
#include "evenbevel/edge_view.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/live.hpp"
#include "evenbevel/report.hpp"
#include "evenbevel/units.hpp"
#include "options.hpp"
#include "print_scale.hpp"
#include "record_entry.hpp"

namespace evenbevel::cli {
namespace {

constexpr int kMostPhotos = 50;
constexpr int kLeastTrials = 100, kMostTrials = 1000000;

struct EdgeOptions : EdgeViewOptions {
  std::vector<std::string> photos, turned;
  std::string camera_source;
  int frames = 16;
  bool each = false;
  RecordChoice record;
  int monte_carlo = 0;
  std::uint64_t seed = 1;
};

EdgeSettings edge_settings(const EdgeOptions& options) {
  EdgeSettings settings = edge_view_settings(options);
  if (options.monte_carlo > 0) {
    settings.monte_carlo = MonteCarloSettings{.trials = options.monte_carlo, .seed = options.seed};
  }
  return settings;
}

struct Measurement {
  EdgeResult result;
  Verdict verdict;
  std::string text;  ///< For the terminal.
};

Measurement measure(const Photo& photo, const EdgeOptions& options, const EdgeSettings& settings,
                    const ReportSettings& report, const std::string& folder) {
  const CameraModel camera = camera_for(photo, options.camera_file);
  EdgeResult result = edge_view(photo, camera, settings);
  result.warnings.insert(result.warnings.begin(), photo.warnings.begin(), photo.warnings.end());
  write_edge_report(result, settings, photo, camera, report, folder);
  const Verdict verdict = edge_verdict(result, report);
  const Statement statement = edge_statement(result, settings, photo, camera, report);
  return {std::move(result), verdict, statement_text(statement, report.unit)};
}

int run_one(const EdgeOptions& options, const EdgeSettings& settings,
            const ReportSettings& report) {
  const Photo photo = options.camera_source.empty()
                          ? read_photo(options.photos.front())
                          : average_frames(options.camera_source, options.frames);
  const Measurement measured = measure(photo, options, settings, report, options.folder);
  std::cout << measured.text;
  print_files(options.folder);
  return exit_code_of(measured.verdict);
}

std::vector<Photo> read_photos(const std::vector<std::string>& paths) {
  std::vector<Photo> photos;
  photos.reserve(paths.size());
  for (const std::string& path : paths) photos.push_back(read_photo(path));
  return photos;
}

/// Several photos of one blade.
int run_set(const EdgeOptions& options, const EdgeSettings& settings,
            const ReportSettings& report) {
  const std::vector<Photo> photos = read_photos(options.photos);
  const std::vector<Photo> turned = read_photos(options.turned);
  const CameraModel camera = camera_for(photos.front(), options.camera_file);
  const EdgeResult result = edge_set({photos, turned}, camera, settings);
  write_edge_report(result, settings, photos.front(), camera, report, options.folder);
  std::cout << statement_text(edge_statement(result, settings, photos.front(), camera, report),
                              report.unit);
  print_files(options.folder);
  return exit_code_of(edge_verdict(result, report));
}

struct Row {
  std::string name, verdict, offset, worst;
};

void print_table(const std::vector<Row>& rows) {
  std::size_t width = 5;
  for (const Row& row : rows) width = std::max(width, row.name.size());
  const auto line = [&](const Row& row) {
    std::cout << std::left << std::setw(static_cast<int>(width) + 2) << row.name << std::setw(12)
              << row.verdict << std::setw(32) << row.offset << row.worst << '\n';
  };
  std::cout << '\n';
  line({"photo", "verdict", "centreline offset (mean)", "worst"});
  for (const Row& row : rows) line(row);
}

/// Folder of one photo's report: its name without the ending, numbered when two share it.
std::string report_folder(const std::string& root, const std::filesystem::path& photo,
                          std::vector<std::string>& taken) {
  std::string name = photo.stem().string();
  for (int n = 2; std::find(taken.begin(), taken.end(), name) != taken.end(); ++n) {
    name = photo.stem().string() + "-" + std::to_string(n);
  }
  taken.push_back(name);
  return (std::filesystem::path(root) / name).string();
}

int run_each(const std::vector<std::filesystem::path>& photos, const EdgeOptions& options,
             const EdgeSettings& settings, const ReportSettings& report) {
  std::vector<Row> rows;
  std::vector<std::string> taken;
  constexpr int kNotMeasurable = 3;
  int worst_code = 0;
  for (const std::filesystem::path& path : photos) {
    const std::string folder = report_folder(options.folder, path, taken);
    try {
      const Measurement measured = measure(read_photo(path), options, settings, report, folder);
      const auto with_u = [&](const std::optional<Measured>& m) {
        if (!m) return std::string("-");
        return format_signed_length(m->value, report.unit) + "  U95 " +
               format_length(U95(*m), report.unit);
      };
      rows.push_back({path.string(), std::string(name(measured.verdict)),
                      with_u(measured.result.centreline_offset_mm),
                      with_u(measured.result.centreline_offset_worst_mm)});
      worst_code = std::max(worst_code, exit_code_of(measured.verdict));
    } catch (const Error& in_mm) {
      const Error e = in_unit(in_mm, report.unit);
      std::cerr << path.string() << ": " << e.what() << "\n  do: " << e.do_next() << '\n';
      rows.push_back({path.string(), "not measured", e.what(), ""});
      worst_code = kNotMeasurable;
    }
  }
  print_table(rows);
  return worst_code;
}

void require_no_folder(const std::vector<std::string>& photos) {
  for (const std::string& photo : photos) {
    if (!std::filesystem::is_directory(photo)) continue;
    throw Error("photo " + photo + " is a folder",
                "give a photo in it; or measure each of its photos with --each, or each new one as "
                "it comes with 'evenbevel watch " +
                    photo + "'");
  }
}

int run_edge(const EdgeOptions& options) {
  const EdgeSettings settings = edge_settings(options);
  const ReportSettings report = edge_view_report_settings(options);
  if (options.photos.empty() == options.camera_source.empty()) {
    throw CLI::ValidationError("photo", "give either a photo or --camera");
  }
  if (!options.camera_source.empty()) return run_one(options, settings, report);
  if (!options.each) require_no_folder(options.photos);
  std::vector<std::filesystem::path> photos;
  for (const std::string& photo : options.photos) {
    if (options.each && std::filesystem::is_directory(photo)) {
      const auto files = photo_files(photo);
      photos.insert(photos.end(), files.begin(), files.end());
    } else {
      photos.emplace_back(photo);
    }
  }
  if (options.no_card && !options.each && photos.size() > 1) {
    throw CLI::ValidationError("--no-card",
                               "several photos are measured together by their card; "
                               "--each measures them one by one");
  }
  if (options.monte_carlo > 0 && !options.each && photos.size() > 1) {
    throw CLI::ValidationError("--monte-carlo",
                               "checks one photo at a time; --each does so for "
                               "several");
  }
  if (options.each) return run_each(photos, options, settings, report);
  if (photos.size() + options.turned.size() > 1) return run_set(options, settings, report);
  return run_one(options, settings, report);
}

/// What the reports' folder is called where the maker does not say.
std::string folder_name_of(const EdgeOptions& options) {
  if (!options.camera_source.empty()) return "camera.jpg";
  if (options.each || options.photos.empty()) return "measured.jpg";
  return options.photos.front();
}

std::string edge_footer() {
  std::string text =
      "Left and right are the knife's: edge down, tip pointing away from you.\n\n"
      "Examples:\n"
      "  evenbevel edge blade.jpg --thickness 0.125in --camera-file phone.yml -o out/\n"
      "  evenbevel edge blade.jpg --thickness 3.2mm --tolerance 0.001in --units in\n"
      "  evenbevel edge blade.jpg --thickness 3.2mm --no-card\n"
      "  evenbevel edge blade.jpg --thickness 3.2mm -o out/ --knife \"paring 3\" --at-stage "
      "scribed\n"
      "  evenbevel edge blade.jpg --turned turned.jpg --thickness 3.2mm -o out/\n"
      "  evenbevel edge photos/ --each --thickness 3.2mm -o out/\n"
      "  evenbevel edge --camera 0 --frames 16 --thickness 3.2mm\n\n";
  return text + help_exit_codes() + "With --each: the highest of all photos.\n\n" + help_cautions();
}

}  // namespace

void add_edge(CLI::App& app, int& exit_code, const std::string& command_line) {
  auto options = std::make_shared<EdgeOptions>();
  options->command_line = command_line;
  CLI::App* edge = app.add_subcommand(
      "edge", "Measure the edge from above: scribe lines or ground edge against the flats");
  edge->footer(edge_footer());
  edge->add_option("photo", options->photos,
                   "Photo with the edge card in view; several of one set-up, the camera moved "
                   "between; a folder with --each");
  edge->add_option("--turned", options->turned,
                   "Photos with the blade turned end for end in the same jaws: the set-up's own "
                   "offset is found and taken out")
      ->expected(1, kMostPhotos);
  add_edge_view_options(*edge, *options);
  edge->get_option("--no-card")->excludes("--turned");
  edge->add_option("--monte-carlo", options->monte_carlo,
                   "Check the intervals by this many trials through the whole measurement of one "
                   "photo (a few milliseconds each)")
      ->check(CLI::Range(kLeastTrials, kMostTrials))
      ->excludes("--no-card", "--turned");
  edge->add_option("--seed", options->seed, "Of the trials: the same seed, the same numbers")
      ->needs("--monte-carlo")
      ->capture_default_str();
  edge->add_option("--camera", options->camera_source,
                   "Live source in place of a photo: a device number or a video file")
      ->excludes("--turned");
  edge->add_option("--frames", options->frames, "Frames averaged from --camera")
      ->check(CLI::Range(1, 256))
      ->capture_default_str();
  edge->add_flag("--each", options->each, "One report for each of several unrelated photos")
      ->excludes("--turned");
  add_record_options(*edge, options->record);
  edge->get_option("--knife")->excludes("--camera", "--each");
  edge->callback([options, &exit_code] {
    try {
      share_stage(*options, options->record);
      add_default_folder(*options, folder_name_of(*options));
      exit_code =
          measure_and_record(options->record, options->folder, [&] { return run_edge(*options); });
    } catch (const Error& e) {
      throw in_unit(e, options->unit());
    }
  });
}

}  // namespace evenbevel::cli
