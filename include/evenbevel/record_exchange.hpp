#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "evenbevel/record.hpp"

namespace evenbevel {

/// One row a quantity of an entry; mm and degrees. RFC 4180, comma and quotes.
std::string record_csv(Record& record);

/// Schema evenbevel.record/1: knives with their entries, quantities and notes, the bin too; without
/// reports and photos.
std::string record_json(Record& record);

/// Everything, into a new folder or, when the name ends in .zip, a new zip archive: record.json,
/// quantities.csv, entries/ with the reports, photos/. Whole or not at all.
/// @throws Error  It is there already, is not writable, or a photo is missing or damaged.
void export_everything(Record& record, const std::filesystem::path& target);

struct Imported {
  std::int64_t entries = 0, were_there = 0;
  std::vector<std::string> left_out;  ///< Full sentences.
};

/// From a folder or zip archive of export_everything, into this record: what it has already is
/// recognised, what is damaged is named and left out.
/// @throws Error  Not such a folder or archive.
Imported import_everything(Record& record, const std::filesystem::path& source);

}  // namespace evenbevel
