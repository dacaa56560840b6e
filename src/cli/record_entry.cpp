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
  CLI::Option* knife = command.add_option(
      "--record", choice.knife, "Put the report into the record, under this knife's name");
  const bool free = command.get_option_no_throw("--stage") == nullptr;
  CLI::Option* stage = command.add_option(
      free ? "--stage,--at-stage" : "--at-stage", choice.stage,
      "The knife's stage in your words: \"scribed\", \"120 grit\", \"after heat treatment\"");
  command.add_option("--note", choice.note, "Anything worth keeping with it")->needs(knife);
  command
      .add_option("--record-file", choice.file, "Another record than the one in your data folder")
      ->needs(knife);
  stage->needs(knife);
}

void require_stage(const RecordChoice& choice) {
  if (choice.knife.empty() || !choice.stage.empty()) return;
  throw CLI::ValidationError("--record", "say the knife's stage as well: --stage \"120 grit\"");
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
  if (choice.knife.empty()) return measure();
  require_stage(choice);
  if (folder.empty()) {
    throw CLI::ValidationError("--record",
                               "the record takes the report from the folder of -o: "
                               "give one");
  }
  const int exit_code = measure();
  NewEntry entry{.knife = choice.knife, .stage = choice.stage, .note = choice.note};
  entry.report_json = text_of_file(fs::path(folder) / "report.json");
  entry.report_folder = folder;
  std::cout << "record   " << add_to_record(choice.record_file(), entry) << '\n';
  return exit_code;
}

}  // namespace evenbevel::cli
