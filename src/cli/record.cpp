#include "evenbevel/record.hpp"

#include <filesystem>
#include <iostream>
#include <memory>
#include <string>
#include <vector>

#include <unistd.h>

#include "commands.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/record_compare.hpp"
#include "evenbevel/record_exchange.hpp"
#include "evenbevel/record_page.hpp"
#include "options.hpp"
#include "record_entry.hpp"
#include "shop.hpp"

namespace evenbevel::cli {
namespace {

namespace fs = std::filesystem;

struct RecordOptions {
  std::string file, units;
  std::string knife, stage, from, to, note, yes, rescue;
  std::string thickness, land, tolerance, side_tolerance, choil_tolerance;
  std::string report, output;
  std::vector<std::string> photos;
  std::int64_t entry = 0;
  bool bin = false;

  fs::path record_file() const { return file.empty() ? default_record_file() : fs::path(file); }
  LengthUnit unit() const { return unit_or_shops(units); }
};

using Options = std::shared_ptr<RecordOptions>;

void run_add(const RecordOptions& options) {
  const fs::path given = options.report;
  const fs::path json = fs::is_directory(given) ? given / "report.json" : given;
  if (!fs::is_regular_file(json)) {
    throw Error("there is no report at " + json.string(),
                "give the folder that 'evenbevel edge', 'side' or 'choil' wrote with -o");
  }
  NewEntry entry{.knife = options.knife, .stage = options.stage, .note = options.note};
  entry.report_json = text_of_file(json);
  entry.report_folder = json.parent_path();
  entry.photos = {options.photos.begin(), options.photos.end()};
  std::cout << "record   " << add_to_record(options.record_file(), entry) << '\n';
}

/// What was typed for a fact: a length, or none to take it back.
void take_fact(KnifeFact fact, const std::string& text, LengthUnit unit,
               std::vector<SaidFact>& said) {
  if (text.empty()) return;
  const std::string option = "--" + std::string(name(fact));
  said.push_back({fact, text == "none" ? std::nullopt : length_mm(option, text, unit)});
}

void run_set(const RecordOptions& options) {
  const LengthUnit unit = options.unit();
  std::vector<SaidFact> said;
  take_fact(KnifeFact::thickness, options.thickness, unit, said);
  take_fact(KnifeFact::land, options.land, unit, said);
  take_fact(KnifeFact::tolerance, options.tolerance, unit, said);
  take_fact(KnifeFact::side_tolerance, options.side_tolerance, unit, said);
  take_fact(KnifeFact::choil_tolerance, options.choil_tolerance, unit, said);
  if (said.empty()) {
    throw CLI::ValidationError("set",
                               "say what to set: --thickness, --land, --tolerance, "
                               "--side-tolerance or --choil-tolerance");
  }
  Record record = Record::open_or_make(options.record_file());
  record.say_facts(options.knife, said, utc_now());
  std::cout << facts_text(record.facts(options.knife), unit);
}

int run_list(const RecordOptions& options) {
  if (!fs::exists(options.record_file())) {
    std::cout << "no record yet at " << options.record_file().string()
              << "; 'evenbevel record add' makes it\n";
    return 0;
  }
  Record record = Record::open(options.record_file());
  const std::vector<KnifeLine> knives = record.list(options.bin);
  if (knives.empty()) {
    std::cout << (options.bin ? "no knife is in the bin\n" : "the record has no knives yet\n");
  } else {
    std::cout << list_text(knives, options.unit());
  }
  if (!options.bin) return 0;
  for (const RecordEntry& entry : record.binned_entries()) {
    std::cout << "entry " << entry.id << "   " << entry.knife << "   " << entry.stage << "   "
              << entry.view << " view   removed " << entry.removed << '\n';
  }
  return 0;
}

/// A slip of the finger removes nothing: the name has to be typed again.
void require_name_typed(const std::string& name, std::string typed) {
  if (typed.empty() && ::isatty(STDIN_FILENO) == 1) {
    std::cerr << "type the knife's name to remove it: " << std::flush;
    std::getline(std::cin, typed);
  }
  if (same_name(typed, name)) return;
  throw CLI::ValidationError(
      "--yes", typed.empty() ? "to remove it, type the name again: --yes '" + name + "'"
                             : "'" + typed + "' is not '" + name + "'; nothing was removed");
}

void run_remove(const RecordOptions& options) {
  Record record = Record::open(options.record_file());
  const std::string name = record.knife(options.knife).name;
  require_name_typed(name, options.yes);
  if (options.entry != 0) {
    record.remove_entry(name, options.entry, utc_now());
    std::cout << "entry " << options.entry << " of " << name
              << " is in the bin; back with: evenbevel record restore --entry " << options.entry
              << '\n';
    return;
  }
  record.remove_knife(name, utc_now());
  std::cout << name << " is in the bin; back with: evenbevel record restore '" << name << "'\n";
}

void run_restore(const RecordOptions& options) {
  Record record = Record::open(options.record_file());
  if (options.entry != 0) {
    record.restore_entry(options.entry);
    std::cout << "entry " << options.entry << " is back\n";
  } else if (!options.knife.empty()) {
    record.restore_knife(options.knife);
    std::cout << options.knife << " is back\n";
  } else {
    throw CLI::ValidationError("knife", "give the knife, or --entry");
  }
}

int run_check(const RecordOptions& options) {
  if (!options.rescue.empty()) {
    const Rescued rescued = rescue_record(options.record_file(), options.rescue);
    std::cout << "rescued " << rescued.entries << " entries to " << options.rescue << '\n';
    for (const std::string& lost : rescued.lost) std::cout << "lost: " << lost << '\n';
    std::cout << "the old record is left as it was: " << options.record_file().string() << '\n';
    return rescued.lost.empty() ? 0 : 1;
  }
  const RecordCheck check = check_record(options.record_file());
  std::cout << options.record_file().string() << ": " << check.entries << " entries, "
            << check.photos << " photos\n";
  for (const std::string& remark : check.remarks) std::cout << "note: " << remark << '\n';
  for (const std::string& fault : check.faults) std::cout << "fault: " << fault << '\n';
  if (check.faults.empty()) {
    std::cout << "sound: every report and every photo is what was put in\n";
    return 0;
  }
  std::cout << "do: evenbevel record check --rescue NEW.sqlite brings what can be read into a new "
               "record\n";
  return 1;
}

void run_export(const RecordOptions& options) {
  Record record = Record::open(options.record_file());
  const fs::path target = options.output;
  if (target.extension() == ".csv") {
    write_page(target, record_csv(record));
  } else if (target.extension() == ".json") {
    write_page(target, record_json(record));
  } else {
    export_everything(record, target);
  }
  std::cout << "exported to " << target.string() << '\n';
}

int run_import(const RecordOptions& options) {
  Record record = Record::open_or_make(options.record_file());
  const Imported imported = import_everything(record, options.report);
  std::cout << "imported " << imported.entries << " entries; " << imported.were_there
            << " were in the record already\n";
  for (const std::string& sentence : imported.left_out) std::cout << sentence << '\n';
  return imported.left_out.empty() ? 0 : 1;
}

CLI::App* command(CLI::App& record, const Options& options, const char* name, const char* what) {
  CLI::App* sub = record.add_subcommand(name, what);
  sub->add_option("--record,--record-file", options->file,
                  "The record's file; without it " + std::string("the one in your data folder, ") +
                      "$XDG_DATA_HOME or ~/.local/share, evenbevel/record.sqlite")
      ->type_name("FILE");
  return sub;
}

void add_knife(CLI::App* sub, const Options& options) {
  sub->add_option("knife", options->knife, "The knife's name")->type_name("NAME")->required();
}

void add_writing(CLI::App& record, const Options& options) {
  CLI::App* add = command(record, options, "add", "Put a report and its photos into the record");
  add_knife(add, options);
  add->add_option("report", options->report,
                  "Folder with report.json, as the measuring commands "
                  "write it with -o")
      ->required();
  add->add_option("--stage,--at-stage", options->stage,
                  "The stage in your words: \"scribed\", \"120 grit\", \"after heat treatment\"")
      ->required();
  add->add_option("--note", options->note, "Anything worth keeping with this entry");
  add->add_option("--photo", options->photos,
                  "Where the photo is now, if not where it was measured")
      ->type_name("PHOTO");
  add->callback([options] { run_add(*options); });

  CLI::App* set = command(record, options, "set",
                          "Say what is a knife's own, so that --knife brings it: a new knife, too");
  add_knife(set, options);
  set->add_option("--thickness", options->thickness,
                  "Stock thickness between the flats, by micrometer; none takes it back")
      ->type_name("LENGTH");
  set->add_option("--land", options->land, "Land width you are grinding toward; or none")
      ->type_name("LENGTH");
  set->add_option("--tolerance", options->tolerance, "Largest centreline offset allowed; or none")
      ->type_name("LENGTH");
  set->add_option("--side-tolerance", options->side_tolerance,
                  "Largest bevel height difference and plunge mismatch allowed; or none")
      ->type_name("LENGTH");
  set->add_option("--choil-tolerance", options->choil_tolerance,
                  "Largest asymmetry at the heel allowed; or none")
      ->type_name("LENGTH");
  add_units(*set, options->units, "For output and bare numbers");
  set->callback([options] { run_set(*options); });

  CLI::App* note = command(record, options, "note", "Write a note on a knife, or on one entry");
  add_knife(note, options);
  note->add_option("text", options->note, "The note, in quotes")->type_name("NOTE")->required();
  note->add_option("--entry", options->entry, "The entry's number, as 'record show' gives it")
      ->check(CLI::PositiveNumber);
  note->callback([options] {
    Record::open(options->record_file())
        .add_note(options->knife, options->entry, options->note, utc_now());
  });
}

void add_reading(CLI::App& record, const Options& options, int& exit_code) {
  CLI::App* list = command(record, options, "list", "All knives, the newest first");
  add_units(*list, options->units, "For output");
  list->add_flag("--bin", options->bin, "What was removed");
  list->callback([options, &exit_code] { exit_code = run_list(*options); });

  CLI::App* show = command(record, options, "show", "Every entry of a knife, with its numbers");
  add_knife(show, options);
  add_units(*show, options->units, "For output");
  show->callback([options] {
    std::cout << knife_text(Record::open(options->record_file()).knife(options->knife),
                            options->unit());
  });

  CLI::App* compare = command(record, options, "compare",
                              "Two stages of a knife: what changed, what was taken off each face");
  add_knife(compare, options);
  compare->add_option("--from", options->from, "The earlier stage")->required();
  compare->add_option("--to", options->to, "The later stage")->required();
  add_units(*compare, options->units, "For output");
  compare->callback([options] {
    Record record_file = Record::open(options->record_file());
    std::cout << comparison_text(
        compare_stages(record_file, options->knife, options->from, options->to), options->unit());
  });
}

void add_page(CLI::App& record, const Options& options) {
  CLI::App* page = command(record, options, "page",
                           "One page of a knife through its stages, for any browser, no network");
  add_knife(page, options);
  page->add_option("-o,--output", options->output, "The page's file: knife.html")
      ->type_name("FILE")
      ->required();
  add_units(*page, options->units, "For output");
  page->callback([options] {
    Record record_file = Record::open(options->record_file());
    write_page(options->output, knife_html(record_file, options->knife, options->unit()));
    std::cout << "page     " << options->output << '\n';
  });
}

void add_exchange(CLI::App& record, const Options& options, int& exit_code) {
  CLI::App* out = command(record, options, "export", "The record in other programs' hands");
  out->add_option("-o,--output", options->output,
                  "NAME.csv or NAME.json: the numbers; NAME.zip, or a new folder: everything, with "
                  "reports and photos")
      ->type_name("FILE")
      ->required();
  out->callback([options] { run_export(*options); });

  CLI::App* in = command(record, options, "import",
                         "Add what 'record export' wrote to a folder or zip; what is there already "
                         "is recognised");
  in->add_option("source", options->report, "The folder or zip")->required();
  in->callback([options, &exit_code] { exit_code = run_import(*options); });
}

void add_keeping(CLI::App& record, const Options& options, int& exit_code) {
  CLI::App* remove = command(record, options, "remove",
                             "Put a knife, or one entry, into the bin; nothing is ever deleted");
  add_knife(remove, options);
  remove->add_option("--entry", options->entry, "Only this entry")->check(CLI::PositiveNumber);
  remove->add_option("--yes", options->yes, "The knife's name once more, in full")
      ->type_name("NAME");
  remove->callback([options] { run_remove(*options); });

  CLI::App* restore =
      command(record, options, "restore", "Take a knife, or an entry, out of the bin");
  restore->add_option("knife", options->knife, "The knife's name")->type_name("NAME");
  restore->add_option("--entry", options->entry, "Only this entry")->check(CLI::PositiveNumber);
  restore->callback([options] { run_restore(*options); });

  CLI::App* check =
      command(record, options, "check", "Read everything and say whether it is what was put in");
  check
      ->add_option("--rescue", options->rescue,
                   "Bring what can be read of a damaged record into this new file")
      ->type_name("FILE");
  check->callback([options, &exit_code] { exit_code = run_check(*options); });
}

}  // namespace

void add_record(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<RecordOptions>();
  CLI::App* record = app.add_subcommand("record", "The shop's log: every knife through its stages");
  record->require_subcommand(1);
  record->footer(
      "Examples:\n"
      "  evenbevel edge blade.jpg --thickness 3.2mm -o out/\n"
      "  evenbevel record add \"paring 3\" out/ --at-stage \"120 grit\"\n"
      "  evenbevel side --left l.jpg --right r.jpg --thickness 3.2mm -o side/ --knife \"paring "
      "3\" \\\n      --at-stage \"120 grit\"     measured and put in in one go; edge and choil "
      "likewise\n"
      "  evenbevel record set \"paring 3\" --thickness 3.2mm --land 0.3mm --tolerance 0.05mm\n"
      "  evenbevel record show \"paring 3\"\n"
      "  evenbevel record compare \"paring 3\" --from scribed --to \"120 grit\"\n"
      "  evenbevel record page \"paring 3\" -o knife.html\n"
      "  evenbevel record export -o shop.zip\n\n"
      "Photos are kept beside the record, in FILE.photos. Nothing is ever deleted: what is "
      "removed\n"
      "goes to a bin.");
  add_writing(*record, options);
  add_reading(*record, options, exit_code);
  add_page(*record, options);
  add_exchange(*record, options, exit_code);
  add_keeping(*record, options, exit_code);
}

}  // namespace evenbevel::cli
