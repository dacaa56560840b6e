#include "evenbevel/record.hpp"

#include <cstdlib>
#include <functional>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/error.hpp"
#include "knife_maker.hpp"
#include "units/sha256.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;
using test::kWhen;
using testing::ElementsAre;
using testing::HasSubstr;

class Variable {
 public:
  Variable(const char* name, const char* value) : name_(name) {
    if (const char* before = std::getenv(name)) before_ = before;
    ::setenv(name, value, 1);
  }
  ~Variable() {
    if (before_) {
      ::setenv(name_, before_->c_str(), 1);
    } else {
      ::unsetenv(name_);
    }
  }
  Variable(const Variable&) = delete;
  Variable& operator=(const Variable&) = delete;

 private:
  const char* name_;
  std::optional<std::string> before_;
};

std::string said(const std::function<void()>& act) {
  try {
    act();
  } catch (const Error& e) {
    return std::string(e.what()) + " / " + e.do_next();
  }
  return "nothing";
}

// XDG Base Directory Specification 0.8: "If $XDG_DATA_HOME is either not set or empty, a default
// equal to $HOME/.local/share should be used"; all paths must be absolute, "if an implementation
// encounters a relative path [...] it should consider the path invalid and ignore it".
TEST(RecordOutside, TheFileFollowsTheXdgRules) {
  const Variable home("HOME", "/home/smith");
  {
    const Variable data("XDG_DATA_HOME", "/srv/data");
    EXPECT_EQ(default_record_file(), "/srv/data/evenbevel/record.sqlite");
  }
  const fs::path usual = "/home/smith/.local/share/evenbevel/record.sqlite";
  for (const char* value : {"", "data", "./data"}) {
    const Variable data("XDG_DATA_HOME", value);
    EXPECT_EQ(default_record_file(), usual) << value;
  }
}

TEST(RecordClosedForm, WhatIsAddedIsThereAfterOpeningAgain) {
  const test::Shop shop;
  const NewEntry entry =
      shop.entry("paring 3", "120 grit", "a", {.offset = {-0.031, 0.004, 0.0085}});
  const Added added = shop.record().add(entry);
  EXPECT_TRUE(added.new_knife);
  EXPECT_FALSE(added.was_there);
  EXPECT_TRUE(added.warnings.empty());

  Record record = Record::open(shop.file());
  const Knife knife = record.knife("paring 3");
  ASSERT_EQ(knife.entries.size(), 1U);
  const RecordEntry& kept = knife.entries.front();
  EXPECT_EQ(kept.stage, "120 grit");
  EXPECT_EQ(kept.view, "edge");
  EXPECT_EQ(kept.verdict, "within");
  EXPECT_EQ(kept.added, kWhen);
  EXPECT_EQ(record.report_json(kept), entry.report_json);
  const RecordedValue* offset = find_value(kept, "centreline_offset");
  ASSERT_NE(offset, nullptr);
  EXPECT_EQ(offset->value, -0.031);
  EXPECT_EQ(offset->u, 0.004);
  EXPECT_EQ(offset->U95, 0.0085);
}

TEST(RecordClosedForm, ThePhotoIsKeptUnderItsHash) {
  const test::Shop shop;
  shop.record().add(shop.entry("paring 3", "120 grit", "a"));
  fs::remove_all(shop.photos_folder());
  Record record = Record::open(shop.file());
  const RecordedPhoto photo = record.knife("paring 3").entries.front().photos.front();
  EXPECT_EQ(photo.file, sha256("\xFF\xD8\xFF the photo a") + ".jpg");
  EXPECT_EQ(test::file_text(record.photo_path(photo)), "\xFF\xD8\xFF the photo a");
}

TEST(RecordBadInput, AFileThatIsNoPhotoDoesNotComeInByAReport) {
  const test::Shop shop;
  shop.photo("secret.txt", "key 1234");
  const std::string knows_it = shop.report("secret.txt");
  std::string trusted = knows_it;
  trusted.replace(trusted.find("\"sha256\""), 8, "\"unsaid\"");
  for (const std::string& report : {knows_it, trusted}) {
    EXPECT_THROW(shop.record().add(
                     {.knife = "heron", .stage = "scribed", .report_json = report, .added = kWhen}),
                 Error);
  }
  for (const fs::directory_entry& file :
       fs::recursive_directory_iterator(shop.file().parent_path())) {
    if (!file.is_regular_file()) continue;
    EXPECT_THAT(test::file_text(file.path()), testing::Not(testing::HasSubstr("key 1234")));
  }
}

TEST(RecordClosedForm, TheSameReportTwiceIsRecognised) {
  const test::Shop shop;
  const NewEntry entry = shop.entry("paring 3", "120 grit", "a");
  shop.record().add(entry);
  NewEntry again = entry;
  again.knife = "another";
  again.stage = "400 grit";
  const Added added = shop.record().add(again);
  EXPECT_TRUE(added.was_there);
  EXPECT_EQ(added.id, 1);
  EXPECT_EQ(added.knife, "paring 3");
  EXPECT_EQ(added.stage, "120 grit");
  EXPECT_EQ(shop.record().list().size(), 1U);
}

TEST(RecordClosedForm, CapitalsAndBlanksMakeNoOtherKnifeOrStage) {
  const test::Shop shop;
  shop.record().add(shop.entry("Paring 3", "120 Grit", "a"));
  const Added added = shop.record().add(shop.entry("  paring 3 ", "120 grit", "b"));
  EXPECT_FALSE(added.new_knife);
  EXPECT_EQ(added.knife, "Paring 3");
  EXPECT_EQ(added.stage, "120 Grit");
  EXPECT_THAT(shop.record().knife("PARING 3").stages(), ElementsAre("120 Grit"));
}

TEST(RecordClosedForm, TheListStatesTheNewestEntry) {
  const test::Shop shop;
  shop.record().add(shop.entry("first", "scribed", "a", {.offset = {0.1, 0.01, 0.02}}));
  shop.record().add(shop.entry("second", "scribed", "b"));
  shop.record().add(shop.entry("first", "60 grit", "c", {.offset = {0.2, 0.01, 0.02}}));
  const std::vector<KnifeLine> list = shop.record().list();
  ASSERT_EQ(list.size(), 2U);
  EXPECT_EQ(list[0].name, "first");
  EXPECT_EQ(list[0].entries, 2);
  EXPECT_EQ(list[0].last_stage, "60 grit");
  ASSERT_TRUE(list[0].offset);
  EXPECT_EQ(list[0].offset->value, 0.2);
  EXPECT_THAT(list_text(list, LengthUnit::mm), HasSubstr("+0.200 mm  U95 0.020 mm"));
  EXPECT_THAT(list_text(list, LengthUnit::inch), HasSubstr("+0.0079 in  U95 0.0008 in"));
}

TEST(RecordClosedForm, WhereXIsZeroIsSaidWhereAnXIs) {
  Knife knife{.name = "paring 3", .entries = {{.id = 1, .stage = "60 grit", .view = "edge"}}};
  knife.entries[0].values = {{"land_width", 0.0, 0.3, 0.01, 0.02}};
  EXPECT_THAT(knife_text(knife, LengthUnit::mm), testing::Not(HasSubstr("x = 0")));
  knife.entries[0].values.push_back({"plunge_left", 0.0, 0.2, 0.01, 0.02});
  EXPECT_THAT(knife_text(knife, LengthUnit::mm), HasSubstr("\n  x = 0 as its report says"));
}

/// An entry whose report states one plunge line, or both, and where the tip was seen.
NewEntry with_plunges(const test::Shop& shop, const std::string& name, const char* x_origin,
                      std::optional<double> tip_x_mm) {
  NewEntry entry = shop.entry("heron", "stage " + name, name);
  nlohmann::json report = nlohmann::json::parse(entry.report_json);
  report["x_origin"] = x_origin;
  report["quantities"]["plunge_left"] = {{"value", 20.5}, {"u", 0.05}, {"U95", 0.1}};
  report["quantities"]["plunge_right"] = {{"value", 19.5}, {"u", 0.05}, {"U95", 0.1}};
  if (tip_x_mm) report["tip_x"] = *tip_x_mm;
  entry.report_json = report.dump();
  return entry;
}

TEST(RecordClosedForm, EachEntryHasItsOwnOriginAndPlacesAreToldFromTheTipWhereItWasSeen) {
  const test::Shop shop;
  Record record = shop.record();
  record.add(with_plunges(shop, "a", "plunge_lines", std::nullopt));
  record.add(with_plunges(shop, "b", "handle_end", 120.0));
  const Knife knife = record.knife("heron");
  EXPECT_EQ(knife.entries[0].x_origin, "plunge_lines");
  EXPECT_FALSE(knife.entries[0].tip_x_mm);
  EXPECT_EQ(knife.entries[1].tip_x_mm, 120.0);
  const std::string text = knife_text(knife, LengthUnit::mm);
  EXPECT_THAT(text, HasSubstr("x = 0 midway between the plunge lines, plus to the tip\n"));
  EXPECT_THAT(text, HasSubstr("x = 0 at the handle end of the blade, plus to the tip\n"));
  EXPECT_THAT(text, HasSubstr("100 mm from the tip"));
  const std::size_t second = text.find("entry 2");
  EXPECT_GT(text.find("from the tip"), second) << "the first entry did not see it: " << text;
}

TEST(RecordClosedForm, NotesStayWithTheirEntry) {
  const test::Shop shop;
  NewEntry entry = shop.entry("paring 3", "120 grit", "a");
  entry.note = "new belt";
  shop.record().add(entry);
  shop.record().add_note("paring 3", 0, "for my sister", kWhen);
  const Knife knife = shop.record().knife("paring 3");
  ASSERT_EQ(knife.notes.size(), 2U);
  EXPECT_EQ(knife.notes[0].entry, 1);
  EXPECT_EQ(knife.notes[0].text, "new belt");
  EXPECT_EQ(knife.notes[1].entry, 0);
  EXPECT_THAT(knife_text(knife, LengthUnit::mm), HasSubstr("for my sister"));
  EXPECT_THAT(said([&] { shop.record().add_note("paring 3", 9, "x", kWhen); }),
              HasSubstr("no entry 9"));
  EXPECT_THAT(said([&] { shop.record().add_note("paring 3", 1, " ", kWhen); }), HasSubstr("empty"));
}

TEST(RecordClosedForm, ThePhotoIsFoundWhereItIsNow) {
  const test::Shop shop;
  NewEntry entry = shop.entry("paring 3", "120 grit", "a");
  fs::create_directories(shop / "moved");
  fs::rename(shop.photos_folder() / "a.jpg", shop / "moved" / "renamed.jpg");
  EXPECT_THAT(said([&] { shop.record().add(entry); }),
              testing::AllOf(HasSubstr("a.jpg"), HasSubstr("--photo")));
  EXPECT_EQ(shop.record().list().size(), 0U);
  entry.photos = {shop / "moved" / "renamed.jpg"};
  EXPECT_EQ(shop.record().add(entry).id, 1);
}

TEST(RecordBadInput, APhotoThatChangedSinceIsRefused) {
  const test::Shop shop;
  const NewEntry entry = shop.entry("paring 3", "120 grit", "a");
  test::write_file(shop.photos_folder() / "a.jpg", "\xFF\xD8\xFF another photo");
  EXPECT_THAT(said([&] { shop.record().add(entry); }), HasSubstr("it has changed since"));
  EXPECT_EQ(shop.record().list().size(), 0U);
}

TEST(RecordBadInput, AReportWithoutTheHashIsTakenWithAWarning) {
  const test::Shop shop;
  NewEntry entry = shop.entry("paring 3", "120 grit", "a");
  entry.report_json = test::json_of({.photo = (shop.photos_folder() / "a.jpg").string()});
  EXPECT_THAT(sentences(shop.record().add(entry).warnings, LengthUnit::mm),
              ElementsAre(HasSubstr("on trust")));
}

TEST(RecordBadInput, WhatIsNoReportIsRefused) {
  const test::Shop shop;
  std::string nested(100'000, '[');
  for (const std::string& text :
       {std::string("grind the left side"), std::string("{}"), std::string("[1, 2]"), nested,
        std::string(R"({"schema": "evenbevel.report/2", "view": "edge"})"),
        std::string(R"({"schema": "evenbevel.report/1", "view": "edge", "input": {}})")}) {
    NewEntry entry = shop.entry("paring 3", "120 grit", "a");
    entry.report_json = text;
    EXPECT_NE(said([&] { shop.record().add(entry); }), "nothing") << text.substr(0, 60);
  }
  EXPECT_EQ(shop.record().list().size(), 0U);
}

TEST(RecordBadInput, NamesAreOneLineOfText) {
  const test::Shop shop;
  for (const std::string& name : {std::string(), std::string("  "), std::string("a\nb"),
                                  std::string(201, 'x'), std::string("a\x1b[31m")}) {
    NewEntry entry = shop.entry("paring 3", "120 grit", "a");
    entry.knife = name;
    EXPECT_THAT(said([&] { shop.record().add(entry); }), HasSubstr("knife's name"));
    entry.knife = "paring 3";
    entry.stage = name;
    EXPECT_THAT(said([&] { shop.record().add(entry); }), HasSubstr("stage's name"));
  }
}

TEST(RecordBadInput, AnUnknownKnifeIsToldThoseThereAre) {
  const test::Shop shop;
  EXPECT_THAT(said([&] { Record::open(shop.file()); }), HasSubstr("no record yet"));
  shop.record().add(shop.entry("paring 3", "120 grit", "a"));
  EXPECT_THAT(said([&] { shop.record().knife("parring 3"); }), HasSubstr("paring 3"));
}

TEST(RecordBadInput, QuotesInNamesAreOnlyText) {
  const test::Shop shop;
  const std::string name = "Robert'); DROP TABLE knife;--";
  shop.record().add(shop.entry(name, "it's \"120\" grit", "a"));
  EXPECT_EQ(shop.record().knife(name).entries.front().stage, "it's \"120\" grit");
}

}  // namespace
}  // namespace evenbevel
