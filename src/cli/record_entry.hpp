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

/// @throws CLI::ValidationError  A record without a knife, or a note without the knife's stage.
void require_knife(const RecordChoice& choice);

/// The knife's own facts, as the record has them; none without a knife, or where it has none.
KnifeFacts known_facts(const RecordChoice& choice);

/// Puts what was said of the knife for the first time into the record, and tells. What it knows
/// already stays as it is; where that is something else, this is told too.
void keep_said(const RecordChoice& choice, const KnifeFacts& known, const KnifeFacts& said,
               LengthUnit unit);

/// @throws Error  Not readable.
std::string text_of_file(const std::filesystem::path& path);

/// Adds an entry (its time is filled in) and the pictures that its page will want.
/// @return  What became of it, for the terminal: "entry 12: paring 3, 120 grit".
std::string add_to_record(const std::filesystem::path& record_file, NewEntry entry);

/// Measures, then adds the report that this wrote into `folder`. Without a knife it only measures;
/// without the knife's stage it tells how the report gets into the record.
/// @param measure  Gives the exit code.
/// @pre require_knife.
int measure_and_record(const RecordChoice& choice, const std::string& folder,
                       const std::function<int()>& measure);

}  // namespace evenbevel::cli
