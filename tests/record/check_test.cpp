#include <algorithm>
#include <fstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/error.hpp"
#include "evenbevel/record.hpp"
#include "evenbevel/record_exchange.hpp"
#include "knife_maker.hpp"
#include "record/inside.hpp"
#include "units/sha256.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;

/// Five knives with two entries each; everything in the one file, none of it in the journal.
void fill(const test::Shop& shop) {
  for (int knife = 0; knife < 5; ++knife) {
    const std::string name = "knife " + std::to_string(knife);
    for (const std::string stage : {"scribed", "60 grit"}) {
      NewEntry entry =
          shop.entry(name, stage, name + " " + stage, {.offset = {0.001 * knife, 0.004, 0.008}});
      entry.note = "note on " + name + " at " + stage;
      shop.record().add(entry);
    }
  }
  shop.record().remove_knife("knife 4", test::kWhen);
  shop.record().inside().database.run("PRAGMA wal_checkpoint(TRUNCATE)");
}

void spoil(const fs::path& file, std::streamoff at, std::size_t bytes) {
  std::fstream stream(file, std::ios::binary | std::ios::in | std::ios::out);
  stream.seekp(at);
  stream << std::string(bytes, '\xA5');
}

TEST(RecordCheckClosedForm, ASoundRecordIsSound) {
  const test::Shop shop;
  fill(shop);
  const RecordCheck check = check_record(shop.file());
  EXPECT_THAT(check.faults, ElementsAre());
  EXPECT_THAT(check.remarks, ElementsAre());
  EXPECT_EQ(check.entries, 10);
  EXPECT_EQ(check.photos, 10);
}

TEST(RecordCheckBadInput, AMissingAndADamagedPhotoAreNamed) {
  const test::Shop shop;
  fill(shop);
  Record record = shop.record();
  const RecordEntry first = record.knife("knife 0").entries.front();
  const RecordEntry second = record.knife("knife 0").entries.back();
  fs::remove(record.photo_path(first.photos.front()));
  spoil(record.photo_path(second.photos.front()), 3, 1);
  EXPECT_THAT(check_record(shop.file()).faults,
              ElementsAre(testing::AllOf(HasSubstr("knife 0, scribed"), HasSubstr("missing")),
                          testing::AllOf(HasSubstr("knife 0, 60 grit"), HasSubstr("damaged"))));
}

TEST(RecordCheckBadInput, ANumberThatIsNotItsReportsIsNamed) {
  const test::Shop shop;
  fill(shop);
  shop.record().inside().database.run(
      "UPDATE quantity SET value = value + 0.001 WHERE entry = 3 AND name = 'land_width'");
  shop.record().inside().database.run("UPDATE report SET json = json || ' ' WHERE rowid = 5");
  EXPECT_THAT(check_record(shop.file()).faults,
              ElementsAre(testing::AllOf(HasSubstr("Entry 3"), HasSubstr("land_width")),
                          testing::AllOf(HasSubstr("Entry 5"), HasSubstr("not what was put in"))));
}

// No hash covers these; the entry's copy has them too.
TEST(RecordCheckBadInput, AnAlteredStageDateKnifePhotoOrNoteIsNamed) {
  struct Change {
    const char *sql, *named;
  };
  for (const Change& change :
       {Change{"UPDATE entry SET stage = '400 grit' WHERE id = 2", "its stage is \"400 grit\""},
        Change{"UPDATE entry SET added = '2001-01-01T00:00:00Z' WHERE id = 2", "its date"},
        Change{"UPDATE entry SET knife = 2 WHERE id = 2", "its knife is \"knife 1\""},
        Change{"UPDATE entry_photo SET name = 'x.jpg' WHERE entry = 2", "its photo is \"x.jpg\""},
        Change{"UPDATE entry_photo SET face = 'left' WHERE entry = 2", "its photo's face"},
        Change{"UPDATE note SET text = 'even' WHERE entry = 2", "the note in its copy"},
        Change{"DELETE FROM note WHERE entry = 2", "the note in its copy"}}) {
    const test::Shop shop;
    fill(shop);
    shop.record().inside().database.run(change.sql);
    EXPECT_THAT(check_record(shop.file()).faults,
                ElementsAre(testing::AllOf(HasSubstr("Entry 2"), HasSubstr(change.named))))
        << change.sql;
  }
}

TEST(RecordCheckClosedForm, AReportPutInAgainAfterTheBinIsSound) {
  const test::Shop shop;
  NewEntry entry = shop.entry("heron", "scribed", "again", {.offset = {0.01, 0.004, 0.008}});
  Record record = shop.record();
  record.add(entry);
  record.remove_entry("heron", 1, test::kWhen);
  entry.added = "2026-03-15T00:00:00Z";
  record.add(entry);
  EXPECT_THAT(check_record(shop.file()).faults, ElementsAre());
}

// A database from a stranger: its file names lead nowhere.
TEST(RecordCheckBadInput, APhotosFileOutsideTheRecordIsNeitherReadNorWritten) {
  const test::Shop shop;
  fill(shop);
  const fs::path outside = shop.file().parent_path() / "outside.txt";
  std::ofstream(outside) << "mine";
  for (const std::string& name : {std::string("../outside.txt"), outside.string(),
                                  std::string("entries/../../outside.txt"), std::string("")}) {
    shop.record()
        .inside()
        .database.prepare("UPDATE photo SET file = ? WHERE rowid = 1")
        .with(name)
        .run();
    EXPECT_THAT(check_record(shop.file()).faults, Contains(HasSubstr("not its own"))) << name;
    Record record = shop.record();
    EXPECT_THROW(record.knife("knife 0"), Error) << name;
    const fs::path target = shop.file().parent_path() / "poured";
    EXPECT_THROW(export_everything(record, target), Error) << name;
    EXPECT_FALSE(fs::exists(target)) << name;
    const fs::path rescued = shop.file().parent_path() / "rescued.sqlite";
    const Rescued result = rescue_record(shop.file(), rescued);
    EXPECT_EQ(result.entries, 10) << name;
    EXPECT_THAT(result.lost, ElementsAre()) << name;
    EXPECT_THAT(check_record(rescued).faults, ElementsAre()) << name;
    EXPECT_EQ(test::file_text(outside), "mine") << name;
    fs::remove_all(rescued);
    fs::remove_all(record_photos(rescued));
  }
}

TEST(RecordCheckClosedForm, ALostCopyOfAnEntryIsWrittenAgain) {
  const test::Shop shop;
  fill(shop);
  fs::remove_all(record_photos(shop.file()) / "entries");
  EXPECT_THAT(check_record(shop.file()).faults, ElementsAre());
  EXPECT_EQ(std::distance(fs::directory_iterator(record_photos(shop.file()) / "entries"), {}), 10);
  EXPECT_THAT(check_record(shop.file()).remarks, ElementsAre());
}

/// All that a person reads of every knife.
std::string whole_text(Record& record) {
  std::vector<std::string> names;
  for (const KnifeLine& line : record.list()) names.push_back(line.name);
  std::ranges::sort(names);
  std::string text;
  for (const std::string& name : names) text += knife_text(record.knife(name), LengthUnit::mm);
  return text;
}

/// The numbers of entries may change, nothing else.
std::string without_numbers(std::string text) {
  for (std::size_t at = 0; (at = text.find("entry ", at)) != std::string::npos; at += 6) {
    while (at + 6 < text.size() && text[at + 6] >= '0' && text[at + 6] <= '9')
      text.erase(at + 6, 1);
  }
  return text;
}

TEST(RecordRescueClosedForm, ASoundRecordIsRescuedWhole) {
  const test::Shop shop;
  fill(shop);
  shop.record().add_note("knife 1", 0, "for my sister", test::kWhen);
  const Rescued rescued = rescue_record(shop.file(), shop / "new" / "record.sqlite");
  EXPECT_THAT(rescued.lost, ElementsAre());
  EXPECT_EQ(rescued.entries, 10);
  Record old = shop.record();
  Record fresh = Record::open(shop / "new" / "record.sqlite");
  EXPECT_EQ(whole_text(fresh), whole_text(old));
  EXPECT_EQ(fresh.list(true).size(), 1U);
  EXPECT_THAT(check_record(shop / "new" / "record.sqlite").faults, ElementsAre());
}

// Whichever page is spoilt, the copies of the entries stand in. What only the database holds, that
// an entry went to the bin, may be lost with it.
TEST(RecordRescueProperty, NoPageOfTheDatabaseTakesAnEntryWithIt) {
  constexpr std::streamoff kPage = 4096;
  const test::Shop shop;
  fill(shop);
  Record old = shop.record();
  const std::string expected = without_numbers(whole_text(old));
  const auto pages = static_cast<std::streamoff>(fs::file_size(shop.file())) / kPage;
  ASSERT_GT(pages, 10);
  int noticed = 0;
  for (std::streamoff page = 0; page < pages; ++page) {
    const fs::path folder = shop / ("page " + std::to_string(page));
    fs::create_directories(folder);
    const fs::path damaged = folder / "record.sqlite";
    fs::copy_file(shop.file(), damaged);
    fs::create_directory_symlink(record_photos(shop.file()), record_photos(damaged));
    spoil(damaged, page * kPage, kPage);
    noticed += check_record(damaged).faults.empty() ? 0 : 1;
    const Rescued rescued = rescue_record(damaged, folder / "new.sqlite");
    EXPECT_EQ(rescued.entries, 10) << "page " << page;
    EXPECT_THAT(rescued.lost, ElementsAre()) << "page " << page;
    Record fresh = Record::open(folder / "new.sqlite");
    if (fresh.list(true).size() == 1U) {
      EXPECT_EQ(without_numbers(whole_text(fresh)), expected) << "page " << page;
    }
    for (const KnifeLine& knife : fresh.list()) EXPECT_EQ(knife.entries, 2) << "page " << page;
  }
  EXPECT_EQ(noticed, pages);
}

TEST(RecordRescueBadInput, AnExistingFileIsNotOverwritten) {
  const test::Shop shop;
  fill(shop);
  test::write_file(shop / "new.sqlite", "something else");
  EXPECT_THROW(rescue_record(shop.file(), shop / "new.sqlite"), Error);
  EXPECT_EQ(test::file_text(shop / "new.sqlite"), "something else");
  EXPECT_THROW(rescue_record(shop / "none.sqlite", shop / "other.sqlite"), Error);
}

TEST(RecordRescueBadInput, ALostPhotoIsSaidAndItsNumbersKept) {
  const test::Shop shop;
  fill(shop);
  Record record = shop.record();
  fs::remove(record.photo_path(record.knife("knife 0").entries.front().photos.front()));
  const Rescued rescued = rescue_record(shop.file(), shop / "new.sqlite");
  EXPECT_THAT(rescued.lost, ElementsAre(HasSubstr("knife 0 scribed.jpg")));
  EXPECT_EQ(rescued.entries, 10);
}

}  // namespace
}  // namespace evenbevel
