#pragma once

#include <filesystem>
#include <functional>
#include <string>

#include <CLI/CLI.hpp>

#include "evenbevel/record.hpp"

namespace evenbevel::cli {

/// Of a measuring command: where its report goes in the record.
struct RecordChoice {
  std::string knife, stage, note, file;
  std::filesystem::path record_file() const;
};

/// --knife, --at-stage, --note, --record FILE; --stage too, unless the command has it.
void add_record_options(CLI::App& command, RecordChoice& choice);

/// @throws CLI::ValidationError  A knife without its stage, or a record without a knife.
void require_stage(const RecordChoice& choice);

/// @throws Error  Not readable.
std::string text_of_file(const std::filesystem::path& path);

/// Adds an entry (its time is filled in) and the pictures that its page will want.
/// @return  What became of it, for the terminal: "entry 12: paring 3, 120 grit".
std::string add_to_record(const std::filesystem::path& record_file, NewEntry entry);

/// Measures, then adds the report that this wrote into `folder`; only measures without a knife.
/// @param measure  Gives the exit code.
/// @throws CLI::ValidationError  A knife without a stage, or a record without a knife.
int measure_and_record(const RecordChoice& choice, const std::string& folder,
                       const std::function<int()>& measure);

}  // namespace evenbevel::cli
