#pragma once

#include <string>
#include <vector>

#include "evenbevel/record.hpp"
#include "record/report_facts.hpp"
#include "record/sqlite.hpp"

namespace evenbevel {

struct Record::Inside {
  std::filesystem::path file = {};
  sqlite::Database database;
};

/// An entry with its report, as it goes into a record: from a new report, from a copy of an entry,
/// or from another record.
struct WholeEntry {
  RecordEntry entry = {};
  std::string report_json = {};
  std::vector<RecordNote> notes = {};
};

/// The entry's own row and all that hangs on it, inside a transaction of the caller's.
std::int64_t insert_entry(sqlite::Database& database, std::int64_t knife, const WholeEntry& whole);
/// The id of the knife of that name; made when missing.
std::int64_t knife_id_or_new(sqlite::Database& database, const std::string& name,
                             const std::string& created);
/// 0: no such knife outside the bin.
std::int64_t knife_id(sqlite::Database& database, const std::string& name);
/// @throws Error  No such knife; names those that are there.
std::int64_t known_knife_id(sqlite::Database& database, const std::string& name);

KnifeFacts fact_rows(sqlite::Database& database, std::int64_t knife);
void insert_fact(sqlite::Database& database, std::int64_t knife, const SaidFact& fact,
                 const std::string& said);
/// Empty: a name that this evenbevel does not know.
std::optional<KnifeFact> knife_fact_named(std::string_view name);

/// Without values and photos. @param condition  "WHERE ..." on the tables entry and knife.
std::vector<RecordEntry> entry_rows(sqlite::Database& database, const std::string& condition,
                                    std::int64_t parameter);
/// @throws Error  A photo's file has a name that is not the record's own.
void fill_entry(sqlite::Database& database, RecordEntry& entry);

/// A name without blanks around it. @throws Error  Empty, too long, or with control characters.
std::string checked_name(const std::string& name, const char* what);

/// Whether a photo's file has a name of our own making, that leads nowhere out of the record's
/// folder: its hash and a short ending. Databases, archives and copies of entries may come from
/// anybody.
bool is_photo_file(const std::string& file, const std::string& sha256);

/// The copy of an entry in the record's folder.
std::filesystem::path entry_copy_path(const std::filesystem::path& record_file,
                                      const std::string& report_sha256);
std::string entry_copy_text(const WholeEntry& whole);
/// @throws Error  Damaged: it does not fit its own hash.
WholeEntry read_entry_copy(const std::string& text);

}  // namespace evenbevel
