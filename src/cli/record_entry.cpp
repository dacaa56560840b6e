#include "record_entry.hpp"

#include <fstream>
#include <iostream>
#include <iterator>

#include "evenbevel/error.hpp"
#include "evenbevel/printed.hpp"
#include "evenbevel/record_page.hpp"
#include "options.hpp"

namespace evenbevel::cli {

namespace fs = std::filesystem;

fs::path RecordChoice::record_file() const {
  return file.empty() ? default_record_file() : fs::path(file);
}

void add_record_options(CLI::App& command, RecordChoice& choice) {
  CLI::Option* knife =
      command
          .add_option("--knife", choice.knife,
                      "The knife's name: brings what the record knows of it; with --at-stage "
                      "the report goes into the record")
          ->type_name("NAME");
  const bool free = command.get_option_no_throw("--stage") == nullptr;
  CLI::Option* stage = command.add_option(
      free ? "--stage,--at-stage" : "--at-stage", choice.stage,
      "The knife's stage in your words: \"scribed\", \"120 grit\", \"after heat treatment\"");
  command.add_option("--note", choice.note, "Anything worth keeping with it")->needs(knife);
  command
      .add_option("--record,--record-file", choice.file,
                  "The record's file, where it is not the one in your data folder")
      ->type_name("FILE");
  stage->needs(knife);
}

void require_knife(const RecordChoice& choice) {
  if (choice.knife.empty() && !choice.file.empty()) {
    throw CLI::ValidationError("--record",
                               "names the record's file; name the knife as well: "
                               "--knife heron --at-stage \"120 grit\"");
  }
  if (choice.note.empty() || !choice.stage.empty()) return;
  throw CLI::ValidationError("--note", "say the knife's stage as well: --at-stage \"120 grit\"");
}

KnifeFacts known_facts(const RecordChoice& choice) {
  if (choice.knife.empty() || !fs::exists(choice.record_file())) return {};
  return Record::open(choice.record_file()).facts(choice.knife);
}

void keep_said(const RecordChoice& choice, const KnifeFacts& known, const KnifeFacts& said,
               LengthUnit unit) {
  if (choice.knife.empty()) return;
  std::vector<SaidFact> fresh;
  for (const auto& [fact, mm] : said) {
    const std::string of = std::string(name(fact)) + " " + trimmed_length(mm, unit);
    const auto before = known.find(fact);
    if (before == known.end()) {
      fresh.push_back({fact, mm});
      std::cout << "knife    " << choice.knife << ": " << of
                << " is kept and need not be said again\n";
    } else if (exact_mm(before->second) != exact_mm(mm)) {
      std::cout << "knife    " << choice.knife << ": " << of << " counted here; "
                << trimmed_length(before->second, unit)
                << " stays with the knife ('evenbevel record "
                << "set' changes it)\n";
    }
  }
  if (!fresh.empty()) {
    Record::open_or_make(choice.record_file()).say_facts(choice.knife, fresh, utc_now());
  }
}

std::string text_of_file(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) throw Error(path.string() + " cannot be read", "check your rights there");
  return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

std::string add_to_record(const fs::path& record_file, NewEntry entry) {
  const Added added = add_with_pictures(record_file, std::move(entry));
  for (const Remark& warning : added.warnings) {
    std::cerr << "warning: " << sentence(warning, LengthUnit::mm) << '\n';
  }
  const std::string what =
      "entry " + std::to_string(added.id) + ": " + added.knife + ", " + added.stage;
  if (added.was_there) return "already in as " + what + "; nothing added";
  return what + (added.new_knife ? " (a new knife)" : "");
}

int measure_and_record(const RecordChoice& choice, const std::string& folder,
                       const std::function<int()>& measure) {
  const int exit_code = measure();
  if (choice.knife.empty()) return exit_code;
  if (choice.stage.empty()) {
    std::cout
        << "record   not put in, for its stage was not said; put it in with: evenbevel record "
           "add '"
        << choice.knife << "' '" << folder << "' --at-stage \"120 grit\"\n";
    return exit_code;
  }
  NewEntry entry{.knife = choice.knife, .stage = choice.stage, .note = choice.note};
  entry.report_json = text_of_file(fs::path(folder) / "report.json");
  entry.report_folder = folder;
  std::cout << "record   " << add_to_record(choice.record_file(), entry) << '\n';
  return exit_code;
}

}  // namespace evenbevel::cli
