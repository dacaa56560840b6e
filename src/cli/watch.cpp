#include "evenbevel/watch.hpp"

#include <algorithm>
#include <filesystem>
#include <iostream>
#include <map>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "commands.hpp"
#include "edge_options.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/latest_page.hpp"
#include "evenbevel/photo.hpp"
#include "evenbevel/report.hpp"
#include "help.hpp"
#include "record_entry.hpp"
#include "settle.hpp"
#include "until_stopped.hpp"
#include "watched_views.hpp"

namespace evenbevel::cli {
namespace {

namespace fs = std::filesystem;

struct WatchOptions : EdgeViewOptions {
  std::string watched;
  bool once = false, existing = false, finish = false;
  RecordChoice record;
};

/// What is said of a photo in one line: its verdict, then the first numbers with their directions.
std::string result_words(const Written& result, LengthUnit unit) {
  constexpr std::size_t kNumbers = 2;
  std::string words = result.verdict == Verdict::none ? "" : std::string(name(result.verdict));
  const std::vector<Glance::Row>& rows = result.statement.glance.rows;
  for (std::size_t i = 0; i < std::min(kNumbers, rows.size()); ++i) {
    const Glance::Row& row = rows[i];
    const std::string note = row.note.said(unit);
    words += (words.empty() ? "" : ", ") + row.label.said(unit) + ' ' + row.value.said(unit) +
             " U95 " + row.U95.said(unit) + (note.empty() ? "" : ' ' + note);
  }
  const bool places = words.find("x = ") != std::string::npos;
  return words + (places ? "; " + result.statement.glance.origin.said(unit) : "");
}

/// "do: " and the first piece of advice, on the blade or else on the photo; empty: none.
std::string advice_words(const Statement& statement, LengthUnit unit) {
  const auto& all = statement.advice;
  const auto found = std::ranges::find_if(all, on_the_blade);
  if (found != all.end()) return "do: " + sentence(*found, unit);
  return all.empty() ? "" : "photo: " + sentence(all.front(), unit);
}

/// Measures one photo after the other, prints what came out and keeps latest.html.
class Bench {
 public:
  /// @throws Error, CLI::ValidationError  A setting that no photo could be measured with.
  Bench(const WatchOptions& options, KnifeFacts known)
      : options_(options),
        known_(std::move(known)),
        views_(options, known_, read_shop(), options.finish),
        out_(options.folder.empty() ? fs::path(options.watched) / "measured"
                                    : fs::path(options.folder)) {
    if (!fs::is_directory(options.watched)) {
      throw Error(options.watched + " is not a folder",
                  "give the folder that the phone's photos come to; make it if it is not there");
    }
    if (!options.record.stage.empty()) Record::open_or_make(options.record.record_file());
    write_waiting_page(latest(), options.watched, views_.unit());
  }

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
    } catch (const std::exception& e) {
      faulty_ = true;
      return {Taken::refused, std::string("internal fault: ") + e.what(),
              "take the photo again; if that does not help, keep it and report the fault"};
    }
  }

  void bad(const fs::path& path, const Outcome& what) {
    const std::string name = path.filename().string();
    say(name, "not measured: " + what.why, "do: " + what.do_next);
    keep({.time = clock_time(), .photo = name, .why = what.why, .do_next = what.do_next}, {});
    anything_bad_ = true;
  }

  void same(const fs::path& path, const fs::path& first) const {
    say(path.filename().string(), "the same picture as " + first.filename().string(), "");
  }

  bool anything_bad() const { return anything_bad_; }
  bool faulty() const { return faulty_; }
  fs::path latest() const { return out_ / "latest.html"; }

 private:
  Outcome outcome(Taken taken, const Error& error) const {
    const Error shown = in_unit(error, views_.unit());
    return {taken, shown.what(), shown.do_next()};
  }

  void measured(Photo& photo, const fs::path& path) {
    const fs::path folder = report_folder(path);
    const Written result = views_.measure(photo, folder);
    keep_said_once();
    std::string words = result_words(result, views_.unit());
    if (!options_.record.stage.empty()) words += ", " + recorded(folder);
    const std::string name = path.filename().string();
    say(name, words, advice_words(result.statement, views_.unit()));
    keep({.time = clock_time(), .photo = name, .verdict = result.verdict, .result = words},
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

  /// The photo's name without its ending; with it when another photo has that folder.
  fs::path report_folder(const fs::path& photo) {
    const std::string name = photo.filename().string();
    const auto taken = folders_.find(photo.stem().string());
    const bool other = taken != folders_.end() && taken->second != name;
    const std::string folder = other ? name : photo.stem().string();
    folders_[folder] = name;
    return out_ / folder;
  }

  static void say(const std::string& name, const std::string& words, const std::string& advice) {
    const std::string indent(10, ' ');
    std::cout << clock_time() << "  " << name << '\n' << wrapped(words, indent, kTextWidth) << '\n';
    if (!advice.empty()) std::cout << wrapped(advice, indent, kTextWidth) << '\n';
    std::cout << std::flush;
  }

  void keep(WatchedPhoto photo, const std::string& report_html) {
    constexpr std::size_t kShown = 20;
    recent_.insert(recent_.begin(), std::move(photo));
    if (recent_.size() > kShown) recent_.pop_back();
    write_latest_page(latest(), recent_, report_html, views_.unit());
  }

  /// Once a photo has shown that what was said of the knife holds.
  void keep_said_once() {
    if (said_kept_) return;
    keep_said(options_.record, known_, typed_facts(options_), views_.unit());
    said_kept_ = true;
  }

  const WatchOptions& options_;
  KnifeFacts known_;
  bool said_kept_ = false;
  WatchedViews views_;
  fs::path out_;
  std::map<std::string, std::string> folders_;
  std::vector<WatchedPhoto> recent_;
  bool anything_bad_ = false, faulty_ = false;
};

int run_watch(const WatchOptions& options, const KnifeFacts& known) {
  Bench bench(options, known);
  const WatchActions actions = {
      .measure = [&](const fs::path& path) { return bench.measure(path); },
      .bad = [&](const fs::path& path, const Outcome& what) { bench.bad(path, what); },
      .same = [&](const fs::path& path, const fs::path& first) { bench.same(path, first); }};
  const StopSignals stop;
  if (!options.once) {
    std::cout << "watching " << options.watched << "; the newest result is in "
              << bench.latest().string() << "; end with Ctrl-C" << std::endl;
  }
  if (options.open) open_page(bench.latest());
  watch_folder({.folder = options.watched, .existing = options.existing, .once = options.once},
               actions, stop.descriptor());
  constexpr int kNotMeasurable = 3, kInternalFault = 4;
  if (bench.faulty()) return kInternalFault;
  return options.once && bench.anything_bad() ? kNotMeasurable : 0;
}

std::string watch_footer() {
  return "Each new photo is measured once, when it has come in whole; those that are there already "
         "are left\nalone unless --existing is given. Reports go to FOLDER/measured, or where -o "
         "says.\n\n"
         "The card in a photo tells what it is: an edge from above, a face, or the section at the "
         "heel.\nEach face stands for itself; 'evenbevel side' compares the two. --tolerance, "
         "--land and\n--printed-bar are the edge view's; the others' stand in shop.toml.\n\n"
         "Examples:\n"
         "  evenbevel watch ~/phone-photos --thickness 3.2mm --camera-file phone.yml\n"
         "  evenbevel watch ~/phone-photos --thickness 3.2mm --knife \"paring 3\" --at-stage "
         "\"120 grit\"\n\n"
         "Exit code: 0 ended by Ctrl-C or SIGTERM, or with --once when all were measured; 2 wrong "
         "use,\n3 the folder cannot be watched, or with --once a photo could not be measured; 4 an "
         "internal\n"
         "fault, with which photo is said as it happens.\n\n" +
         help_cautions();
}

}  // namespace

void add_watch(CLI::App& app, int& exit_code, const std::string& command_line) {
  auto options = std::make_shared<WatchOptions>();
  options->command_line = command_line;
  CLI::App* watch = app.add_subcommand(
      "watch", "Measure each photo that a phone drops into a folder, whichever view it shows");
  watch->footer(watch_footer());
  watch->add_option("folder", options->watched, "Folder that the photos come to")->required();
  watch->add_flag("--once", options->once, "Measure what is there, then end");
  watch->add_flag("--existing", options->existing,
                  "Measure the photos that are there at the start too");
  watch->add_flag("--finish", options->finish,
                  "On the side card: count the scratches left, each photo's lamp place by itself");
  add_edge_view_options(*watch, *options);
  add_record_options(*watch, options->record);
  watch->callback([options, &exit_code] {
    share_stage(*options, options->record);
    require_knife(options->record);
    const KnifeFacts known = known_facts(options->record);
    settle_edge(*options, known, options->record.knife);
    exit_code = run_watch(*options, known);
  });
}

}  // namespace evenbevel::cli
