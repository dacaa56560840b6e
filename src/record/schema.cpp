#include "record/schema.hpp"

#include <array>
#include <chrono>
#include <string>
#include <system_error>
#include <thread>

#include <unistd.h>

#include "evenbevel/error.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;
using sqlite::Database;

// Each takes a record from the version of its index to the next. What is here was written to
// somebody's disk: it is only ever added to.
constexpr std::array<const char*, kSchemaVersion> kSteps = {
    R"(
CREATE TABLE knife (id INTEGER PRIMARY KEY, name TEXT NOT NULL, created TEXT NOT NULL);
CREATE UNIQUE INDEX knife_name ON knife (name COLLATE NOCASE);
CREATE TABLE report (sha256 TEXT NOT NULL UNIQUE, json TEXT NOT NULL);
CREATE TABLE entry (
  id INTEGER PRIMARY KEY, knife INTEGER NOT NULL REFERENCES knife (id), stage TEXT NOT NULL,
  view TEXT NOT NULL, verdict TEXT NOT NULL, added TEXT NOT NULL,
  report TEXT NOT NULL REFERENCES report (sha256));
CREATE UNIQUE INDEX entry_report ON entry (report);
CREATE INDEX entry_knife ON entry (knife, id);
CREATE TABLE photo (sha256 TEXT NOT NULL UNIQUE, file TEXT NOT NULL);
CREATE TABLE entry_photo (
  entry INTEGER NOT NULL REFERENCES entry (id), position INTEGER NOT NULL,
  photo TEXT NOT NULL REFERENCES photo (sha256), name TEXT NOT NULL, face TEXT NOT NULL,
  PRIMARY KEY (entry, position)) WITHOUT ROWID;
CREATE TABLE quantity (
  entry INTEGER NOT NULL REFERENCES entry (id), name TEXT NOT NULL, at REAL NOT NULL,
  value REAL NOT NULL, u REAL NOT NULL, U95 REAL NOT NULL,
  PRIMARY KEY (entry, name, at)) WITHOUT ROWID;
)",
    // The bin, and notes.
    R"(
ALTER TABLE knife ADD COLUMN removed TEXT;
ALTER TABLE entry ADD COLUMN removed TEXT;
DROP INDEX knife_name;
CREATE UNIQUE INDEX knife_name ON knife (name COLLATE NOCASE) WHERE removed IS NULL;
DROP INDEX entry_report;
CREATE UNIQUE INDEX entry_report ON entry (report) WHERE removed IS NULL;
CREATE TABLE note (
  id INTEGER PRIMARY KEY, knife INTEGER NOT NULL REFERENCES knife (id),
  entry INTEGER REFERENCES entry (id), text TEXT NOT NULL, written TEXT NOT NULL);
CREATE INDEX note_knife ON note (knife);
)",
    // What is a knife's own. The newest of a name counts; without mm it was taken back.
    R"(
CREATE TABLE knife_fact (
  id INTEGER PRIMARY KEY, knife INTEGER NOT NULL REFERENCES knife (id), name TEXT NOT NULL,
  mm REAL, said TEXT NOT NULL);
CREATE INDEX knife_fact_knife ON knife_fact (knife, name);
)"};

std::int64_t version_of(Database& database) { return database.number("PRAGMA user_version"); }

bool has_tables(Database& database) {
  return database.number("SELECT count(*) FROM sqlite_master") > 0;
}

void refuse_others(Database& database, const fs::path& file) {
  const std::int64_t version = version_of(database);
  if (has_tables(database) && database.number("PRAGMA application_id") != kApplicationId) {
    throw Error(file.string() + " is a database of another program, not a record",
                "give another file with --record");
  }
  if (version > kSchemaVersion) {
    throw Error(file.string() + " was written by a newer evenbevel (record version " +
                    std::to_string(version) + ", this one knows " + std::to_string(kSchemaVersion) +
                    ")",
                "install the newer evenbevel; the record is untouched");
  }
}

/// Before its tables change. Made under a temporary name: a copy that stands is whole.
void keep_copy(Database& database, const fs::path& file, std::int64_t version) {
  const fs::path copy = file.string() + ".version-" + std::to_string(version);
  const fs::path temporary = copy.string() + ".new";
  std::error_code ignored;
  if (fs::exists(copy, ignored)) return;
  fs::remove(temporary, ignored);
  database.prepare("VACUUM INTO ?").with(temporary.string()).run();
  fs::rename(temporary, copy, ignored);
}

void migrate(Database& database, const fs::path& file) {
  if (version_of(database) == kSchemaVersion) return;
  if (version_of(database) > 0) keep_copy(database, file, version_of(database));
  sqlite::Transaction transaction(database);
  refuse_others(database, file);  // another process may have been here since
  for (auto version = static_cast<std::size_t>(version_of(database)); version < kSteps.size();
       ++version) {
    database.run(kSteps[version]);
  }
  database.run("PRAGMA application_id = " + std::to_string(kApplicationId));
  database.run("PRAGMA user_version = " + std::to_string(kSchemaVersion));
  transaction.commit();
}

/// Two processes that make the same record at once may each find it locked for a moment, of which
/// SQLite says so without waiting.
void use_write_ahead_log(Database& database) {
  constexpr int kAttempts = 200;
  for (int attempt = 0; attempt < kAttempts; ++attempt) {
    const int code = database.prepare("PRAGMA journal_mode = WAL").try_step();
    if ((code & 0xFF) != SQLITE_BUSY) break;
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
  }
  database.run("PRAGMA journal_mode = WAL");
}

/// What SQLite writes beside a record goes into its folder too.
bool can_be_written(const fs::path& file) {
  const fs::path folder = fs::absolute(file).parent_path();
  return ::access(file.c_str(), W_OK) == 0 && ::access(folder.c_str(), W_OK) == 0;
}

/// Of a CD, a locked card, somebody else's folder.
Database open_unchanging(const fs::path& file) {
  const std::string do_next = "copy it, with the files beside it, into a folder of your own";
  std::error_code ignored;
  const auto log_bytes = fs::file_size(file.string() + "-wal", ignored);
  if (!ignored && log_bytes > 0) {
    throw Error(file.string() + " was being written when it was copied, and cannot be written here",
                do_next);
  }
  Database database(file, sqlite::Open::unchanging);
  refuse_others(database, file);
  if (version_of(database) != kSchemaVersion) {
    throw Error(file.string() +
                    " was written by an earlier evenbevel, and cannot be brought up to "
                    "date where nothing can be written",
                do_next);
  }
  return database;
}

}  // namespace

Database open_record(const fs::path& file, sqlite::Open how) {
  if (how == sqlite::Open::existing && !can_be_written(file)) return open_unchanging(file);
  Database database(file, how);
  refuse_others(database, file);
  use_write_ahead_log(database);
  migrate(database, file);
  return database;
}

}  // namespace evenbevel
