#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <deque>
#include <filesystem>
#include <functional>
#include <future>
#include <iostream>
#include <memory>
#include <optional>
#include <span>
#include <sstream>
#include <string>
#include <thread>
#include <utility>
#include <vector>

#include "commands.hpp"
#include "edge_options.hpp"
#include "evenbevel/advice.hpp"
#include "evenbevel/edge_view.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/live.hpp"
#include "evenbevel/report.hpp"
#include "evenbevel/units.hpp"
#include "options.hpp"
#include "practice.hpp"
#include "print_scale.hpp"
#include "progress.hpp"
#include "record_entry.hpp"
#include "settle.hpp"

namespace evenbevel::cli {
namespace {

constexpr int kMostPhotos = 50;
constexpr int kLeastTrials = 100, kMostTrials = 1000000;

struct EdgeOptions : EdgeViewOptions {
  std::vector<std::string> photos, turned;
  std::string camera_source;
  int frames = 16;
  bool each = false;
  bool practice = false;
  RecordChoice record;
  int monte_carlo = 0;
  std::uint64_t seed = 1;
};

/// Shows on a terminal how many trials are done.
std::function<void(int)> trials_shown(int all) {
  const auto progress = std::make_shared<Progress>();
  return [progress, all, before = std::string()](int done) mutable {
    const auto count = static_cast<std::size_t>(done), of = static_cast<std::size_t>(all);
    const std::string now = Progress::bar(100 * count / of, 100);
    if (done == all) return progress->clear();
    if (now == before) return;
    before = now;
    progress->step(count, of, "trials");
  };
}

EdgeSettings edge_settings(const EdgeOptions& options) {
  EdgeSettings settings = edge_view_settings(options);
  if (options.monte_carlo > 0) {
    settings.monte_carlo = MonteCarloSettings{.trials = options.monte_carlo,
                                              .seed = options.seed,
                                              .told = trials_shown(options.monte_carlo)};
  }
  return settings;
}

WrittenEdge measure(Photo photo, const EdgeOptions& options, const EdgeSettings& settings,
                    const ReportSettings& report, const std::string& folder,
                    std::ostream& told = std::cerr) {
  const PhotoSource source = options.camera_source.empty() ? PhotoSource::file : PhotoSource::live;
  const ChosenCamera camera = choose_camera(photo, options.camera_file, source);
  const auto measured = [&] {
    return measure_edge({std::span(&photo, 1), {}}, camera, settings, report, folder);
  };
  if (!settings.card) return measured();  // nothing that could be marked
  return drawn_when_refused(options, photo, CardKind::edge, folder, measured, told);
}

Photo one_photo(const EdgeOptions& options) {
  return options.camera_source.empty() ? read_shown(options.photos.front())
                                       : average_frames(options.camera_source, options.frames);
}

int run_one(const EdgeOptions& options, const EdgeSettings& settings,
            const ReportSettings& report) {
  Photo photo = one_photo(options);
  const WrittenEdge measured = measure(std::move(photo), options, settings, report, options.folder);
  std::cout << statement_text(measured.statement, report.unit);
  show_files(options);
  return exit_code_of(measured.verdict);
}

/// All at once; of several bad ones the first is named.
std::vector<Photo> read_photos(const std::vector<std::string>& paths) {
  std::vector<std::future<Photo>> coming;
  for (const std::string& path : paths)
    coming.push_back(std::async(std::launch::async, read_shown, path));
  std::vector<Photo> photos;
  photos.reserve(paths.size());
  for (std::future<Photo>& photo : coming) photos.push_back(photo.get());
  return photos;
}

/// Several photos of one blade.
int run_set(const EdgeOptions& options, const EdgeSettings& settings,
            const ReportSettings& report) {
  std::vector<std::string> paths = options.photos;
  paths.insert(paths.end(), options.turned.begin(), options.turned.end());
  std::vector<Photo> all = read_photos(paths);
  const ChosenCamera camera = choose_camera(all, options.camera_file);
  const std::span<const Photo> photos(all.data(), options.photos.size());
  const std::span<const Photo> turned = std::span<const Photo>(all).subspan(photos.size());
  const WrittenEdge measured =
      measure_edge({photos, turned}, camera, settings, report, options.folder);
  std::cout << statement_text(measured.statement, report.unit);
  show_files(options);
  return exit_code_of(measured.verdict);
}

/// A photo's name, verdict, centreline offset and worst one.
using Row = std::array<std::string, 4>;

/// Columns as wide as what stands in them, two blanks between. Why a photo was not measured takes
/// what is left of its line.
void print_table(const std::vector<Row>& rows) {
  const Row head = {"photo", "verdict", "centreline offset, mean", "worst"};
  std::array<std::size_t, 4> width{};
  const auto measure_row = [&](const Row& row) {
    for (std::size_t i = 0; i < row.size(); ++i) {
      if (i < 2 || !row.back().empty()) width[i] = std::max(width[i], row[i].size());
    }
  };
  measure_row(head);
  std::ranges::for_each(rows, measure_row);
  const auto line = [&](const Row& row) {
    std::string text;
    for (std::size_t i = 0; i < row.size(); ++i) {
      text += row[i] + std::string(width[i] - std::min(width[i], row[i].size()) + 2, ' ');
    }
    std::cout << text.substr(0, text.find_last_not_of(' ') + 1) << '\n';
  };
  line(head);
  std::ranges::for_each(rows, line);
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

Row row_of(const std::filesystem::path& path, const WrittenEdge& measured, LengthUnit unit) {
  const auto with_u = [&](const std::optional<Measured>& m) {
    if (!m) return std::string("-");
    return format_signed_length(m->value, unit) + "  U95 " + format_length(U95(*m), unit);
  };
  return {path.string(), std::string(name(measured.verdict)),
          with_u(measured.result.centreline_offset_mm),
          with_u(measured.result.centreline_offset_worst_mm)};
}

/// What became of one of several photos.
struct EdgeOutcome {
  Row row;
  int exit_code = 0;
  std::string said;  ///< To those who wait for it; empty: nothing.
};

/// What befalls one photo does not end the others.
EdgeOutcome measure_alone(const std::filesystem::path& path, const EdgeOptions& options,
                          const EdgeSettings& settings, const ReportSettings& report,
                          const std::string& folder) {
  constexpr int kNotMeasurable = 3, kInternalFault = 4;
  std::ostringstream told;
  const auto failed = [&](const std::string& why, const std::string& said, int code) {
    return EdgeOutcome{
        {path.string(), "not measured", why, ""}, code, told.str() + path.string() + ": " + said};
  };
  try {
    const WrittenEdge measured = measure(read_photo(path), options, settings, report, folder, told);
    return {row_of(path, measured, report.unit), exit_code_of(measured.verdict), ""};
  } catch (const Error& in_mm) {
    const Error e = in_unit(in_mm, report.unit);
    return failed(e.what(), std::string(e.what()) + "\n  do: " + e.do_next(), kNotMeasurable);
  } catch (const std::exception& e) {
    const std::string why = std::string("internal fault: ") + e.what();
    return failed(why, why, kInternalFault);
  }
}

/// How many photos are measured side by side: as many as there are processors, each of which takes
/// some 100 MB; one where trials are told as they come.
std::size_t side_by_side(const EdgeSettings& settings) {
  constexpr unsigned kMost = 4;
  if (settings.monte_carlo) return 1;
  return std::clamp(std::thread::hardware_concurrency(), 1U, kMost);
}

int run_each(const std::vector<std::filesystem::path>& photos, const EdgeOptions& options,
             const EdgeSettings& settings, const ReportSettings& report) {
  std::vector<std::string> taken;
  std::deque<std::future<EdgeOutcome>> at_work;
  std::vector<Row> rows;
  int worst_code = 0;
  Progress progress;
  for (std::size_t next = 0; rows.size() < photos.size();) {
    while (next < photos.size() && at_work.size() < side_by_side(settings)) {
      const std::filesystem::path& path = photos[next++];
      at_work.push_back(std::async(std::launch::async, measure_alone, path, std::cref(options),
                                   std::cref(settings), std::cref(report),
                                   report_folder(options.folder, path, taken)));
    }
    progress.step(rows.size(), photos.size(), photos[rows.size()].filename().string());
    EdgeOutcome outcome = at_work.front().get();
    at_work.pop_front();
    if (!outcome.said.empty()) progress.keep(outcome.said);
    rows.push_back(std::move(outcome.row));
    worst_code = std::max(worst_code, outcome.exit_code);
  }
  progress.clear();
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

int run_practice_strip(const EdgeOptions& options) {
  if (options.photos.size() + (options.camera_source.empty() ? 0 : 1) != 1) {
    throw CLI::ValidationError("--practice", "takes one photo of the practice strip, or --camera");
  }
  require_no_folder(options.photos);
  return run_practice(one_photo(options), options,
                      options.camera_source.empty() ? PhotoSource::file : PhotoSource::live);
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

/// --practice: the photo shows the practice strip, whose thickness is printed.
void add_practice_flag(CLI::App& edge, EdgeOptions& options) {
  edge.add_flag_function(
          "--practice",
          [&](std::int64_t) {
            options.practice = true;
            edge.get_option("--thickness")->required(false);
          },
          "The photo shows the practice strip ('evenbevel card practice'): say how far off its "
          "printed numbers are read")
      ->excludes("--turned", "--each", "--no-card", "--thickness", "--edge-height", "--shows",
                 "--tip", "--jaw-lean", "--land", "--tolerance", "--monte-carlo", "--knife");
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
      "  evenbevel edge later.jpg --knife \"paring 3\"       the thickness is known by then\n"
      "  evenbevel edge blade.jpg --turned turned.jpg --thickness 3.2mm -o out/\n"
      "  evenbevel edge photos/ --each --thickness 3.2mm -o out/\n"
      "  evenbevel edge --camera 0 --frames 16 --thickness 3.2mm\n"
      "  evenbevel edge page.jpg --practice --printed-bar 199.8mm\n\n";
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
      ->expected(1, kMostPhotos)
      ->type_name("PHOTO ...");
  add_edge_view_options(*edge, *options);
  edge->get_option("--no-card")->excludes("--turned");
  edge->add_option("--monte-carlo", options->monte_carlo,
                   "Check the intervals by this many trials through the whole measurement of one "
                   "photo (a few milliseconds each)")
      ->check(number_from(kLeastTrials, kMostTrials))
      ->excludes("--no-card", "--turned");
  edge->add_option("--seed", options->seed, "Of the trials: the same seed, the same numbers")
      ->check(count_number())
      ->needs("--monte-carlo")
      ->capture_default_str();
  edge->add_option("--camera", options->camera_source,
                   "Live source in place of a photo: a device number or a video file")
      ->type_name("SOURCE")
      ->excludes("--turned");
  edge->add_option("--frames", options->frames, "Frames averaged from --camera")
      ->check(CLI::Range(1, 256))
      ->capture_default_str();
  edge->add_flag("--each", options->each, "One report for each of several unrelated photos")
      ->excludes("--turned", "--open");
  add_record_options(*edge, options->record);
  edge->get_option("--knife")->excludes("--camera", "--each");
  add_practice_flag(*edge, *options);
  edge->callback([options, &exit_code] {
    try {
      share_stage(*options, options->record);
      add_default_folder(*options, folder_name_of(*options));
      if (options->practice) {  // its thickness is printed, and no knife's facts bear on it
        exit_code = run_practice_strip(*options);
        return;
      }
      require_knife(options->record);
      const KnifeFacts known = known_facts(options->record);
      settle_edge(*options, known, options->record.knife);
      exit_code =
          measure_and_record(options->record, options->folder, [&] { return run_edge(*options); });
      keep_said(options->record, known, typed_facts(*options), options->unit());
    } catch (const Error& e) {
      throw in_unit(e, options->unit());
    }
  });
}

}  // namespace evenbevel::cli
