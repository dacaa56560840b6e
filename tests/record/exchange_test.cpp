#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/record_exchange.hpp"
#include "knife_maker.hpp"
#include "run_program.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;
using testing::ElementsAre;
using testing::HasSubstr;

void fill_shop(const test::Shop& shop) {
  NewEntry first = shop.entry("paring, \"3\"", "scribed", "a", {.offset = {0.012, 0.004, 0.008}});
  first.note = "new belt";
  shop.record().add(first);
  shop.record().add(shop.entry("paring, \"3\"", "60 grit", "b"));
  shop.record().add(shop.entry("other", "60 grit", "c"));
  shop.record().add_note("other", 0, "for my sister", test::kWhen);
  shop.record().add(shop.entry("gone", "60 grit", "d"));
  shop.record().remove_knife("gone", "2026-03-15T00:00:00Z");
}

std::string whole_text(Record record) {
  std::string text =
      list_text(record.list(), LengthUnit::mm) + list_text(record.list(true), LengthUnit::mm);
  for (const char* knife : {"paring, \"3\"", "other"}) {
    text += knife_text(record.knife(knife), LengthUnit::mm);
  }
  return text;
}

TEST(RecordExchangeClosedForm, AFolderOrZipBringsEverythingBack) {
  for (const char* target : {"export", "export.zip"}) {
    const test::Shop shop, other;
    fill_shop(shop);
    Record record = shop.record();
    export_everything(record, shop / target);
    Record fresh = other.record();
    const Imported imported = import_everything(fresh, shop / target);
    EXPECT_EQ(imported.entries, 4) << target;
    EXPECT_THAT(imported.left_out, ElementsAre()) << target;
    EXPECT_EQ(whole_text(other.record()), whole_text(shop.record())) << target;
    EXPECT_THAT(check_record(other.file()).faults, ElementsAre()) << target;
    fresh.restore_knife("gone");
    EXPECT_EQ(fresh.knife("gone").entries.size(), 1U);
  }
}

TEST(RecordExchangeClosedForm, ImportingTwiceAddsNothing) {
  const test::Shop shop, other;
  fill_shop(shop);
  Record record = shop.record();
  export_everything(record, shop / "export.zip");
  Record fresh = other.record();
  import_everything(fresh, shop / "export.zip");
  const Imported again = import_everything(fresh, shop / "export.zip");
  EXPECT_EQ(again.entries, 0);
  EXPECT_EQ(again.were_there, 4);
  EXPECT_EQ(whole_text(other.record()), whole_text(shop.record()));
}

// A zip program of another make reads it and finds nothing wrong.
TEST(RecordExchangeOutside, UnzipFindsNothingWrong) {
  if (test::run_program("command -v python3").exit_code != 0) GTEST_SKIP() << "no python3 here";
  const test::Shop shop;
  fill_shop(shop);
  Record record = shop.record();
  export_everything(record, shop / "export.zip");
  const test::ProgramRun run =
      test::run_program("python3 -m zipfile -t " + (shop / "export.zip").string());
  EXPECT_EQ(run.exit_code, 0) << run.output;
  EXPECT_THAT(run.output, testing::Not(HasSubstr("corrupted")));
  EXPECT_THAT(test::run_program("python3 -m zipfile -l " + (shop / "export.zip").string()).output,
              testing::AllOf(HasSubstr("record.json"), HasSubstr("quantities.csv")));
}

// RFC 4180, 2.5 to 2.7: commas and quotes within quotes, quotes doubled.
TEST(RecordExchangeOutside, TheCsvIsQuoted) {
  const test::Shop shop;
  fill_shop(shop);
  Record record = shop.record();
  const std::string csv = record_csv(record);
  EXPECT_THAT(csv, HasSubstr("\n\"paring, \"\"3\"\"\",scribed,edge,within,2026-03-14T09:26:53Z,1,"
                             "centreline_offset,,0.012,0.004,0.008\n"));
  EXPECT_THAT(csv, testing::Not(HasSubstr("gone")));
}

// What begins like this a spreadsheet runs, on the computer of whoever opens the table.
TEST(RecordExchangeBadInput, NoNameIsAFormula) {
  const test::Shop shop;
  int number = 0;
  for (const std::string& name : {std::string("=HYPERLINK(\"x\")"), std::string("+1"),
                                  std::string("-1"), std::string("@SUM(A1)")}) {
    shop.record().add(shop.entry(name, "scribed", std::to_string(number++)));
  }
  Record record = shop.record();
  EXPECT_THAT(record_csv(record),
              testing::AllOf(HasSubstr("\n\"'=HYPERLINK(\"\"x\"\")\","), HasSubstr("\n'+1,"),
                             HasSubstr("\n'-1,"), HasSubstr("\n'@SUM(A1),")));
}

TEST(RecordExchangeClosedForm, TheJsonHoldsTheNumbers) {
  const test::Shop shop;
  fill_shop(shop);
  Record record = shop.record();
  const nlohmann::json json = nlohmann::json::parse(record_json(record));
  ASSERT_EQ(json["knives"].size(), 3U);
  const nlohmann::json& entry = json["knives"][0]["entries"][0];
  EXPECT_EQ(entry["quantities"][0]["name"], "centreline_offset");
  EXPECT_EQ(entry["quantities"][0]["value"], 0.012);
  EXPECT_EQ(entry["notes"][0]["text"], "new belt");
  EXPECT_EQ(json["knives"][2]["removed"], "2026-03-15T00:00:00Z");
}

TEST(RecordExchangeBadInput, DamagedPartsAreNamedAndTheRestComesIn) {
  const test::Shop shop, other;
  fill_shop(shop);
  Record record = shop.record();
  export_everything(record, shop / "export");
  const RecordEntry first = record.knife("paring, \"3\"").entries.front();
  test::write_file(shop / "export/photos" / first.photos.front().file, "another picture");
  for (const fs::directory_entry& file : fs::directory_iterator(shop / "export/entries")) {
    std::string text = test::file_text(file.path());
    if (text.find("\"knife\": \"other\"") == std::string::npos) continue;
    test::write_file(file.path(), text.replace(text.find("land_width"), 1, "L"));
  }
  Record fresh = other.record();
  const Imported imported = import_everything(fresh, shop / "export");
  EXPECT_EQ(imported.entries, 2);
  EXPECT_THAT(imported.left_out,
              testing::UnorderedElementsAre(HasSubstr("a.jpg is missing or damaged"),
                                            HasSubstr("damaged")));
  EXPECT_THAT(check_record(other.file()).faults, ElementsAre());
}

TEST(RecordExchangeBadInput, NothingIsWrittenOutsideOfTheRecord) {
  const test::Shop shop, other;
  fill_shop(shop);
  Record record = shop.record();
  export_everything(record, shop / "export");
  for (const fs::directory_entry& file : fs::directory_iterator(shop / "export/entries")) {
    nlohmann::ordered_json json = nlohmann::ordered_json::parse(test::file_text(file.path()));
    json["photos"][0]["file"] = "../../escaped.jpg";
    test::write_file(file.path(), json.dump());
  }
  Record fresh = other.record();
  const Imported imported = import_everything(fresh, shop / "export");
  EXPECT_EQ(imported.entries, 0);
  EXPECT_EQ(imported.left_out.size(), 4U);
  EXPECT_FALSE(fs::exists(other / "escaped.jpg"));
}

TEST(RecordExchangeBadInput, OtherFilesAndExistingTargetsAreRefused) {
  const test::Shop shop;
  fill_shop(shop);
  Record record = shop.record();
  test::write_file(shop / "text.zip", "no zip");
  EXPECT_THROW(import_everything(record, shop / "text.zip"), Error);
  EXPECT_THROW(import_everything(record, shop / "none"), Error);
  EXPECT_THROW(import_everything(record, shop.photos_folder()), Error);
  EXPECT_THROW(export_everything(record, shop / "text.zip"), Error);
  EXPECT_EQ(test::file_text(shop / "text.zip"), "no zip");
}

}  // namespace
}  // namespace evenbevel
