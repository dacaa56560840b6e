#include "record/schema.hpp"

#include <functional>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/error.hpp"
#include "evenbevel/record.hpp"
#include "knife_maker.hpp"
#include "record/files.hpp"
#include "record/inside.hpp"
#include "units/sha256.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;

/// SQL straight through the library, without any of the record's own code.
void run_sql(const fs::path& file, const std::string& sql) {
  sqlite3* database = nullptr;
  ASSERT_EQ(sqlite3_open(file.c_str(), &database), SQLITE_OK);
  char* fault = nullptr;
  EXPECT_EQ(sqlite3_exec(database, sql.c_str(), nullptr, nullptr, &fault), SQLITE_OK)
      << (fault != nullptr ? fault : "");
  sqlite3_free(fault);
  sqlite3_close(database);
}

std::string refusal(const fs::path& file) {
  try {
    Record::open(file);
  } catch (const Error& e) {
    return std::string(e.what()) + " / " + e.do_next();
  }
  return "opened";
}

// What version 1 wrote: without bin and notes.
std::string version_1(const std::string& report) {
  std::string quoted;
  for (const char c : report) quoted += c == '\'' ? std::string("''") : std::string(1, c);
  return R"(
PRAGMA application_id = 1165386341;
PRAGMA user_version = 1;
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
INSERT INTO knife VALUES (1, 'paring 3', '2025-01-02T03:04:05Z');
)" + ("INSERT INTO report (sha256, json) VALUES ('" + sha256(report) + "', '" + quoted + "');") +
         ("INSERT INTO entry VALUES (1, 1, '60 grit', 'edge', 'within', '2025-01-02T03:04:05Z', '" +
          sha256(report) + "');") +
         "INSERT INTO quantity VALUES (1, 'centreline_offset', 0, 0.012, 0.005, 0.010);";
}

TEST(RecordSchemaClosedForm, ARecordOfVersionOneIsBroughtUpToDate) {
  const test::Shop shop;
  make_folder(shop.file().parent_path());
  const NewEntry entry = shop.entry("paring 3", "60 grit", "a");
  run_sql(shop.file(), version_1(entry.report_json));

  Record record = Record::open(shop.file());
  const Knife knife = record.knife("paring 3");
  EXPECT_EQ(knife.created, "2025-01-02T03:04:05Z");
  ASSERT_EQ(knife.entries.size(), 1U);
  EXPECT_EQ(find_value(knife.entries.front(), "centreline_offset")->value, 0.012);
  EXPECT_EQ(record.report_json(knife.entries.front()), entry.report_json);
  EXPECT_TRUE(record.add(entry).was_there);
  record.add_note("paring 3", 0, "a note", test::kWhen);
  record.remove_knife("paring 3", test::kWhen);
  EXPECT_EQ(record.inside().database.number("PRAGMA user_version"), kSchemaVersion);
}

// What version 2 had beyond version 1: the bin and the notes.
std::string version_2(const std::string& report) {
  return version_1(report) + R"(
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
INSERT INTO note VALUES (1, 1, NULL, 'of version 2', '2025-01-02T03:04:05Z');
PRAGMA user_version = 2;
)";
}

TEST(RecordSchemaClosedForm, ARecordOfVersionTwoKeepsWhatItHasAndTakesAKnifesFacts) {
  const test::Shop shop;
  make_folder(shop.file().parent_path());
  const NewEntry entry = shop.entry("paring 3", "60 grit", "a");
  run_sql(shop.file(), version_2(entry.report_json));

  Record record = Record::open(shop.file());
  EXPECT_TRUE(record.knife("paring 3").facts.empty());
  EXPECT_EQ(record.knife("paring 3").notes.front().text, "of version 2");
  EXPECT_EQ(record.knife("paring 3").entries.size(), 1U);
  const SaidFact thickness{KnifeFact::thickness, 3.4};
  record.say_facts("Paring 3", {&thickness, 1}, test::kWhen);
  EXPECT_EQ(Record::open(shop.file()).facts("paring 3").at(KnifeFact::thickness), 3.4);
  EXPECT_TRUE(fs::exists(shop.file().string() + ".version-2"));
  EXPECT_EQ(record.inside().database.number("PRAGMA user_version"), kSchemaVersion);
}

TEST(RecordSchemaClosedForm, TheEarlierVersionIsKeptBesideIt) {
  const test::Shop shop;
  make_folder(shop.file().parent_path());
  run_sql(shop.file(), version_1("{}"));
  (void)Record::open(shop.file());
  const fs::path copy = shop.file().string() + ".version-1";
  ASSERT_TRUE(fs::exists(copy));
  sqlite::Database old(copy, sqlite::Open::existing);
  EXPECT_EQ(old.number("PRAGMA user_version"), 1);
  EXPECT_EQ(old.number("SELECT count(*) FROM entry"), 1);
}

// What a kill at the very first instant leaves: a file without tables, of version 0.
TEST(RecordSchemaClosedForm, AnEmptyFileBecomesARecord) {
  const test::Shop shop;
  make_folder(shop.file().parent_path());
  test::write_file(shop.file(), "");
  EXPECT_EQ(Record::open(shop.file()).list().size(), 0U);
  shop.record().add(shop.entry("paring 3", "60 grit", "a"));
  EXPECT_EQ(Record::open(shop.file()).list().size(), 1U);
}

TEST(RecordSchemaBadInput, ANewerRecordIsLeftUntouched) {
  const test::Shop shop;
  shop.record().add(shop.entry("paring 3", "60 grit", "a"));
  run_sql(shop.file(), "PRAGMA user_version = " + std::to_string(kSchemaVersion + 1) +
                           "; PRAGMA wal_checkpoint(TRUNCATE)");
  const std::string before = test::file_text(shop.file());
  EXPECT_THAT(refusal(shop.file()), HasSubstr("newer evenbevel"));
  EXPECT_EQ(test::file_text(shop.file()), before);
}

TEST(RecordSchemaBadInput, AnotherProgramsDatabaseIsLeftUntouched) {
  const test::Shop shop;
  make_folder(shop.file().parent_path());
  run_sql(shop.file(), "CREATE TABLE knife (id INTEGER PRIMARY KEY); INSERT INTO knife VALUES (7)");
  const std::string before = test::file_text(shop.file());
  EXPECT_THAT(refusal(shop.file()), HasSubstr("another program"));
  EXPECT_EQ(test::file_text(shop.file()), before);
}

TEST(RecordSchemaBadInput, WhatIsNoDatabaseIsNamed) {
  const test::Shop shop;
  make_folder(shop.file().parent_path());
  test::write_file(shop.file(), std::string(5000, 'x'));
  EXPECT_THAT(refusal(shop.file()),
              testing::AllOf(HasSubstr("record.sqlite"), HasSubstr("not a record")));
}

}  // namespace
}  // namespace evenbevel
