#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include "../record/knife_maker.hpp"
#include "run_program.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;
using test::ProgramRun;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

class RecordCommand : public testing::Test {
 protected:
  /// With the record in a data folder of its own, and nothing to type from.
  ProgramRun run(const std::string& arguments) const {
    return test::run_program("XDG_DATA_HOME=" + (shop_ / "data").string() + " " + PROGRAM +
                             " record " + arguments + " </dev/null");
  }
  /// A folder with report.json, as a measuring command leaves it.
  std::string report(const std::string& name, const test::EdgeReport& report = {}) const {
    const NewEntry entry = shop_.entry("", "", name, report);
    fs::create_directories(shop_ / name);
    test::write_file(shop_ / name / "report.json", entry.report_json);
    return (shop_ / name).string();
  }
  fs::path record_file() const { return shop_ / "data" / "evenbevel" / "record.sqlite"; }

  test::Shop shop_;
};

using RecordCommandClosedForm = RecordCommand;
using RecordCommandBadInput = RecordCommand;

TEST_F(RecordCommandClosedForm, AKnifeThroughTwoStages) {
  EXPECT_THAT(run("list").output, HasSubstr("no record yet"));
  EXPECT_FALSE(fs::exists(record_file()));
  const std::string a = report("a", {.stage = "scribed"});
  const std::string b = report("b", {.offset = {0.031, 0.004, 0.008}});
  EXPECT_EQ(run("add 'paring 3' --stage scribed " + a).exit_code, 0);
  EXPECT_THAT(run("add 'paring 3' --stage '60 grit' --note 'new belt' " + b).output,
              HasSubstr("entry 2: paring 3, 60 grit"));
  EXPECT_TRUE(fs::exists(record_file()));
  EXPECT_THAT(run("list").output, AllOf(HasSubstr("paring 3"), HasSubstr("+0.031 mm")));
  EXPECT_THAT(run("show 'paring 3'").output, AllOf(HasSubstr("scribed"), HasSubstr("60 grit"),
                                                   HasSubstr("new belt"), HasSubstr("b.jpg")));
  EXPECT_THAT(run("compare 'paring 3' --from scribed --to '60 grit' --units in").output,
              AllOf(HasSubstr("taken off the edge, left face"), HasSubstr(" in  U95")));
  EXPECT_EQ(run("check").exit_code, 0);
}

// A CD, a locked card, somebody else's folder. Root may write anywhere, so that it steps down
// first.
TEST_F(RecordCommandClosedForm, WhatCannotBeWrittenCanBeListedShownAndExported) {
  EXPECT_EQ(run("add heron --stage scribed " + report("a")).exit_code, 0);
  const fs::path folder = record_file().parent_path();
  ASSERT_EQ(run("check").exit_code, 0);
  fs::permissions(shop_ / "",
                  fs::perms::owner_all | fs::perms::group_exec | fs::perms::others_exec);
  const std::string locked = "chmod -R a+rX,a-w '" + folder.string() + "'";
  ASSERT_EQ(test::run_program(locked).exit_code, 0);
  const std::string as_nobody =
      ::getuid() == 0 ? "setpriv --reuid=65534 --regid=65534 --clear-groups " : "";
  const fs::path out = fs::temp_directory_path() / ("evenbevel-out-" + std::to_string(::getpid()));
  const auto read = [&](const std::string& arguments) {
    return test::run_program(as_nobody + PROGRAM + " record " + arguments + " --record " +
                             record_file().string() + " </dev/null");
  };
  EXPECT_THAT(read("list").output, HasSubstr("heron"));
  EXPECT_THAT(read("show heron").output, HasSubstr("scribed"));
  const ProgramRun exported = read("export -o " + out.string());
  EXPECT_EQ(exported.exit_code, 0) << exported.output;
  EXPECT_TRUE(fs::exists(out / "record.json"));
  const ProgramRun added = read("add heron --stage '60 grit' " + (shop_ / "a").string());
  EXPECT_EQ(added.exit_code, 3) << added.output;
  fs::remove_all(out);
  ASSERT_EQ(test::run_program("chmod -R u+w '" + folder.string() + "'").exit_code, 0);
}

TEST_F(RecordCommandBadInput, APageTakesTheNameOfNoOtherFile) {
  EXPECT_EQ(run("add heron --stage scribed " + report("a")).exit_code, 0);
  test::write_file(shop_ / "mine.html", "my own page");
  const std::string record_before = test::file_text(record_file());
  for (const fs::path& taken : {record_file(), shop_ / "mine.html"}) {
    const ProgramRun done = run("page heron -o " + taken.string());
    EXPECT_EQ(done.exit_code, 3);
    EXPECT_THAT(done.output, HasSubstr("left alone"));
  }
  EXPECT_EQ(test::file_text(record_file()), record_before);
  EXPECT_EQ(test::file_text(shop_ / "mine.html"), "my own page");
  const std::string page = (shop_ / "heron.html").string();
  EXPECT_EQ(run("page heron -o " + page).exit_code, 0);
  EXPECT_EQ(run("page heron -o " + page).exit_code, 0);  // its own earlier one
}

TEST_F(RecordCommandBadInput, ANameDoesNotSteerTheTerminal) {
  const std::string name =
      "x\x1b]0;owned\x07\xc2\x9b"
      "31m.jpg";
  const ProgramRun done =
      test::run_program(std::string(PROGRAM) + " edge --thickness 3mm '" + name + "'");
  EXPECT_EQ(done.exit_code, 3);
  EXPECT_THAT(done.output, AllOf(HasSubstr("x?]0;owned??31m.jpg"), Not(HasSubstr("\x1b"))));
}

TEST_F(RecordCommandClosedForm, TheSameReportTwiceIsSaid) {
  const std::string a = report("a");
  run("add 'paring 3' --stage scribed " + a);
  const ProgramRun again = run("add 'paring 3' --stage scribed " + a + "/report.json");
  EXPECT_EQ(again.exit_code, 0);
  EXPECT_THAT(again.output, HasSubstr("already in as entry 1"));
}

TEST_F(RecordCommandClosedForm, ARecordElsewhere) {
  const std::string elsewhere = (shop_ / "stick" / "shop.sqlite").string();
  EXPECT_EQ(
      run("add 'paring 3' --stage scribed " + report("a") + " --record " + elsewhere).exit_code, 0);
  EXPECT_TRUE(fs::exists(elsewhere));
  EXPECT_FALSE(fs::exists(record_file()));
  EXPECT_THAT(run("list --record " + elsewhere).output, HasSubstr("paring 3"));
}

TEST_F(RecordCommandBadInput, NothingIsRemovedWithoutTheName) {
  run("add 'paring 3' --stage scribed " + report("a"));
  for (const char* yes : {"", " --yes paring", " --yes 'paring 30'", " --yes yes"}) {
    EXPECT_EQ(run(std::string("remove 'paring 3'") + yes).exit_code, 2) << yes;
  }
  EXPECT_THAT(run("list").output, HasSubstr("paring 3"));
  EXPECT_EQ(run("remove 'paring 3' --yes 'paring 3'").exit_code, 0);
  EXPECT_THAT(run("list").output, Not(HasSubstr("paring 3")));
  EXPECT_THAT(run("list --bin").output, HasSubstr("paring 3"));
  EXPECT_EQ(run("restore 'paring 3'").exit_code, 0);
  EXPECT_THAT(run("list").output, HasSubstr("paring 3"));
}

TEST_F(RecordCommandBadInput, WhatIsMissingIsNamed) {
  EXPECT_EQ(run("show 'paring 3'").exit_code, 3);
  const ProgramRun no_report = run("add 'paring 3' --stage scribed " + (shop_ / "none").string());
  EXPECT_EQ(no_report.exit_code, 3);
  EXPECT_THAT(no_report.output, AllOf(HasSubstr("none"), HasSubstr("do: ")));
  EXPECT_EQ(run("add 'paring 3' " + report("a")).exit_code, 2) << "no stage";
  EXPECT_EQ(run("").exit_code, 2);
}

TEST_F(RecordCommandBadInput, ADamagedRecordIsSaidAndRescued) {
  run("add 'paring 3' --stage scribed " + report("a"));
  test::write_file(record_file(), std::string(20'000, 'x'));
  EXPECT_EQ(run("list").exit_code, 3);
  const ProgramRun check = run("check");
  EXPECT_EQ(check.exit_code, 1) << check.output;
  EXPECT_THAT(check.output, HasSubstr("--rescue"));
  const std::string rescued = (shop_ / "rescued.sqlite").string();
  EXPECT_EQ(run("check --rescue " + rescued).exit_code, 0);
  EXPECT_THAT(run("show 'paring 3' --record " + rescued).output, HasSubstr("scribed"));
  EXPECT_EQ(test::file_text(record_file()), std::string(20'000, 'x'));
}

}  // namespace
}  // namespace evenbevel
