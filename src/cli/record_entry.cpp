#include "record_entry.hpp"

#include <fstream>
#include <iostream>
#include <iterator>

#include "evenbevel/error.hpp"
#include "evenbevel/record_page.hpp"

namespace evenbevel::cli {

namespace fs = std::filesystem;

fs::path RecordChoice::record_file() const {
  return file.empty() ? default_record_file() : fs::path(file);
}

void add_record_options(CLI::App& command, RecordChoice& choice) {
  CLI::Option* knife = command.add_option("--knife", choice.knife,
                                          "Put the report into the record, under this name");
  const bool free = command.get_option_no_throw("--stage") == nullptr;
  CLI::Option* stage = command.add_option(
      free ? "--stage,--at-stage" : "--at-stage", choice.stage,
      "The knife's stage in your words: \"scribed\", \"120 grit\", \"after heat treatment\"");
  command.add_option("--note", choice.note, "Anything worth keeping with it")->needs(knife);
  command.add_option("--record,--record-file", choice.file,
                     "The record's file, where it is not the one in your data folder");
  stage->needs(knife);
}

void require_stage(const RecordChoice& choice) {
  if (choice.knife.empty() && !choice.file.empty()) {
    throw CLI::ValidationError("--record",
                               "names the record's file; name the knife as well: "
                               "--knife heron --at-stage \"120 grit\"");
  }
  if (choice.knife.empty() || !choice.stage.empty()) return;
  throw CLI::ValidationError("--knife", "say the knife's stage as well: --at-stage \"120 grit\"");
}

std::string text_of_file(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) throw Error(path.string() + " cannot be read", "check your rights there");
  return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

std::string add_to_record(const fs::path& record_file, NewEntry entry) {
  entry.added = utc_now();
  Record record = Record::open_or_make(record_file);
  const Added added = record.add(entry);
  for (const Remark& warning : added.warnings) {
    std::cerr << "warning: " << sentence(warning, LengthUnit::mm) << '\n';
  }
  const std::string what =
      "entry " + std::to_string(added.id) + ": " + added.knife + ", " + added.stage;
  if (added.was_there) return "already in as " + what + "; nothing added";
  make_previews(record, added.knife);
  return what + (added.new_knife ? " (a new knife)" : "");
}

int measure_and_record(const RecordChoice& choice, const std::string& folder,
                       const std::function<int()>& measure) {
  require_stage(choice);
  if (choice.knife.empty()) return measure();
  const int exit_code = measure();
  NewEntry entry{.knife = choice.knife, .stage = choice.stage, .note = choice.note};
  entry.report_json = text_of_file(fs::path(folder) / "report.json");
  entry.report_folder = folder;
  std::cout << "record   " << add_to_record(choice.record_file(), entry) << '\n';
  return exit_code;
}

}  // namespace evenbevel::cli
