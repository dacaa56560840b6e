#include "evenbevel/watch.hpp"

#include <csignal>
#include <ctime>
#include <filesystem>
#include <iostream>
#include <map>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include <unistd.h>

#include "commands.hpp"
#include "edge_options.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/latest_page.hpp"
#include "evenbevel/photo.hpp"
#include "evenbevel/report.hpp"
#include "record_entry.hpp"

namespace evenbevel::cli {
namespace {

namespace fs = std::filesystem;

struct WatchOptions : EdgeViewOptions {
  std::string watched;
  bool once = false, existing = false;
  RecordChoice record;
};

// A signal handler has nothing else to reach the running watch by.
volatile int stop_pipe = -1;

void on_stop(int /*signal*/) {
  const char byte = 0;
  (void)!::write(stop_pipe, &byte, 1);
}

/// SIGINT and SIGTERM make its descriptor readable.
class StopSignals {
 public:
  StopSignals() {
    if (::pipe(ends_) != 0) throw std::runtime_error("no pipe");
    stop_pipe = ends_[1];
    struct sigaction action {};
    action.sa_handler = on_stop;
    for (const int signal : {SIGINT, SIGTERM}) ::sigaction(signal, &action, nullptr);
  }
  ~StopSignals() {
    for (const int signal : {SIGINT, SIGTERM}) ::signal(signal, SIG_DFL);
    ::close(ends_[0]);
    ::close(ends_[1]);
  }
  StopSignals(const StopSignals&) = delete;
  StopSignals& operator=(const StopSignals&) = delete;
  int descriptor() const { return ends_[0]; }

 private:
  int ends_[2] = {};
};

std::string clock_time() {
  const std::time_t now = std::time(nullptr);
  std::tm parts{};
  ::localtime_r(&now, &parts);
  char text[16] = {};
  const std::size_t length = std::strftime(text, sizeof text, "%H:%M:%S", &parts);
  return {text, length};
}

/// Measures one photo after the other, prints a line for each and keeps latest.html.
class Bench {
 public:
  explicit Bench(const WatchOptions& options)
      : options_(options),
        settings_(edge_view_settings(options)),
        report_(edge_view_report_settings(options)),
        out_(options.folder.empty() ? fs::path(options.watched) / "measured"
                                    : fs::path(options.folder)) {}

  Outcome measure(const fs::path& path) {
    Photo photo;
    try {
      photo = read_photo(path);
    } catch (const Error& e) {
      return outcome(Taken::unreadable, e);
    }
    try {
      measured(photo, path);
      return {};
    } catch (const Error& e) {
      return outcome(Taken::refused, e);
    }
  }

  void bad(const fs::path& path, const Outcome& what) {
    const std::string name = path.filename().string();
    say(name, "not measured: " + what.why + "; " + what.do_next);
    keep({.time = clock_time(), .photo = name, .why = what.why, .do_next = what.do_next}, {});
    anything_bad_ = true;
  }

  void same(const fs::path& path, const fs::path& first) const {
    say(path.filename().string(), "the same picture as " + first.filename().string());
  }

  bool anything_bad() const { return anything_bad_; }
  fs::path latest() const { return out_ / "latest.html"; }

 private:
  Outcome outcome(Taken taken, const Error& error) const {
    const Error shown = in_unit(error, report_.unit);
    return {taken, shown.what(), shown.do_next()};
  }

  void measured(const Photo& photo, const fs::path& path) {
    const CameraModel camera = camera_for(photo, options_.camera_file);
    EdgeResult result = edge_view(photo, camera, settings_);
    result.warnings.insert(result.warnings.begin(), photo.warnings.begin(), photo.warnings.end());
    const fs::path folder = report_folder(path);
    write_edge_report(result, settings_, photo, camera, report_, folder);
    const Verdict verdict = edge_verdict(result, report_);
    std::string words = result_words(result, verdict);
    if (!options_.record.knife.empty()) words += ", " + recorded(folder);
    const std::string name = path.filename().string();
    say(name, words);
    keep({.time = clock_time(), .photo = name, .verdict = verdict, .result = words},
         text_of_file(folder / "report.html"));
  }

  std::string recorded(const fs::path& folder) const {
    NewEntry entry{.knife = options_.record.knife,
                   .stage = options_.record.stage,
                   .note = options_.record.note};
    entry.report_json = text_of_file(folder / "report.json");
    entry.report_folder = folder;
    return add_to_record(options_.record.record_file(), entry);
  }

  std::string result_words(const EdgeResult& result, Verdict verdict) const {
    std::string words = verdict == Verdict::none ? "" : std::string(name(verdict)) + ", ";
    const auto with_u = [&](const Measured& m) {
      return format_signed_length(m.value, report_.unit) + " U95 " +
             format_length(U95(m), report_.unit);
    };
    if (!result.centreline_offset_mm) return words + "no centreline offset seen";
    words += "offset " + with_u(*result.centreline_offset_mm);
    if (result.centreline_offset_worst_mm) {
      words += ", worst " + with_u(*result.centreline_offset_worst_mm);
    }
    return words;
  }

  /// The photo's name without its ending; with it when another photo has that folder.
  fs::path report_folder(const fs::path& photo) {
    const std::string name = photo.filename().string();
    const auto taken = folders_.find(photo.stem().string());
    const bool other = taken != folders_.end() && taken->second != name;
    const std::string folder = other ? name : photo.stem().string();
    folders_[folder] = name;
    return out_ / folder;
  }

  void say(const std::string& name, const std::string& words) const {
    std::cout << clock_time() << "  " << name << "  " << words << std::endl;
  }

  void keep(WatchedPhoto photo, const std::string& report_html) {
    constexpr std::size_t kShown = 20;
    recent_.insert(recent_.begin(), std::move(photo));
    if (recent_.size() > kShown) recent_.pop_back();
    write_latest_page(latest(), recent_, report_html, report_.unit);
  }

  const WatchOptions& options_;
  EdgeSettings settings_;
  ReportSettings report_;
  fs::path out_;
  std::map<std::string, std::string> folders_;
  std::vector<WatchedPhoto> recent_;
  bool anything_bad_ = false;
};

int run_watch(const WatchOptions& options) {
  Bench bench(options);
  const WatchActions actions = {
      .measure = [&](const fs::path& path) { return bench.measure(path); },
      .bad = [&](const fs::path& path, const Outcome& what) { bench.bad(path, what); },
      .same = [&](const fs::path& path, const fs::path& first) { bench.same(path, first); }};
  const StopSignals stop;
  if (!options.once) {
    std::cout << "watching " << options.watched << "; the newest result is in "
              << bench.latest().string() << "; end with Ctrl-C" << std::endl;
  }
  watch_folder({.folder = options.watched, .existing = options.existing, .once = options.once},
               actions, stop.descriptor());
  constexpr int kNotMeasurable = 3;
  return options.once && bench.anything_bad() ? kNotMeasurable : 0;
}

std::string watch_footer() {
  return "Each new photo is measured once, when it has come in whole; those that are there already "
         "are left\nalone unless --existing is given. Reports go to FOLDER/measured, or where -o "
         "says.\n\n"
         "Edge-view photos only: a photo of a face does not say which other photo it belongs with. "
         "Measure\nfaces and section with 'evenbevel side' and 'evenbevel choil'; their --knife "
         "puts them into the same record.\n\n"
         "Examples:\n"
         "  evenbevel watch ~/phone-photos --thickness 3.2mm --camera-file phone.yml\n"
         "  evenbevel watch ~/phone-photos --thickness 3.2mm --knife \"paring 3\" --at-stage "
         "\"120 grit\"\n\n"
         "Exit code: 0 ended by Ctrl-C or SIGTERM, or with --once when all were measured; 2 wrong "
         "use,\n3 the folder cannot be watched, or with --once a photo could not be measured.\n\n" +
         help_cautions();
}

}  // namespace

void add_watch(CLI::App& app, int& exit_code, const std::string& command_line) {
  auto options = std::make_shared<WatchOptions>();
  options->command_line = command_line;
  CLI::App* watch =
      app.add_subcommand("watch", "Measure each edge-view photo that a phone drops into a folder");
  watch->footer(watch_footer());
  watch->add_option("folder", options->watched, "Folder that the photos come to")->required();
  watch->add_flag("--once", options->once, "Measure what is there, then end");
  watch->add_flag("--existing", options->existing,
                  "Measure the photos that are there at the start too");
  add_edge_view_options(*watch, *options);
  add_record_options(*watch, options->record);
  watch->callback([options, &exit_code] {
    share_stage(*options, options->record);
    require_stage(options->record);
    exit_code = run_watch(*options);
  });
}

}  // namespace evenbevel::cli
