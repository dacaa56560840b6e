// What the program makes of words that it does not know, and of those that were left out.

#include <chrono>
#include <filesystem>
#include <sstream>
#include <string>
#include <thread>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "run_program.hpp"
#include "scratch_folder.hpp"

namespace evenbevel {
namespace {

using test::ProgramRun;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

ProgramRun typed(const std::string& words) {
  return test::run_program(std::string(PROGRAM) + " " + words);
}

std::string refused(const std::string& words) {
  const ProgramRun run = typed(words);
  EXPECT_EQ(run.exit_code, 2) << words << "\n" << run.output;
  return run.output;
}

TEST(TypingClosedForm, TheProgramAloneListsItsCommands) {
  const std::string listed = refused("");
  for (const char* command : {"edge", "side", "choil", "plan", "study", "record", "watch"}) {
    EXPECT_THAT(listed, HasSubstr(std::string("\n  ") + command + " "));
  }
}

TEST(TypingBadInput, AWordThatIsNotKnownIsNamedWithTheNearest) {
  EXPECT_THAT(refused("egde blade.jpg"), HasSubstr("there is no 'egde': did you mean edge?"));
  EXPECT_THAT(refused("record lst"), HasSubstr("there is no 'lst': did you mean list?"));
  EXPECT_THAT(refused("edge blade.jpg --tolerence=1mm --thickness 3mm"),
              HasSubstr("there is no '--tolerence': did you mean --tolerance?"));
  EXPECT_THAT(refused("choil heel.jpg -x"), HasSubstr("there is no '-x'"));
}

// Before what is missing: --thickness is needed, and was meant.
TEST(TypingBadInput, WhatIsMistypedIsSaidBeforeWhatIsMissing) {
  EXPECT_THAT(refused("edge blade.jpg --thicknes 3mm"),
              AllOf(HasSubstr("there is no '--thicknes': did you mean --thickness?"),
                    Not(HasSubstr("required"))));
}

TEST(TypingBadInput, AWordLikeNoneIsNotGuessedAt) {
  EXPECT_THAT(refused("polish"), AllOf(HasSubstr("there is no 'polish'"),
                                       HasSubstr("'evenbevel --help'"), Not(HasSubstr("mean"))));
  EXPECT_THAT(refused("edge blade.jpg --quench"),
              AllOf(HasSubstr("'evenbevel edge --help'"), Not(HasSubstr("mean"))));
}

TEST(TypingClosedForm, AValueMayBeginWithAMinus) {
  EXPECT_THAT(refused("edge blade.jpg --thickness -3mm"),
              AllOf(HasSubstr("-3mm"), Not(HasSubstr("there is no"))));
}

TEST(TypingBadInput, AFolderGivenToEdgeNamesWhatTakesFolders) {
  const test::ScratchFolder folder;
  const ProgramRun run = typed("edge " + folder.path().string() + " --thickness 3mm");
  EXPECT_EQ(run.exit_code, 3);
  EXPECT_THAT(run.output, AllOf(HasSubstr("is a folder"), HasSubstr("--each"),
                                HasSubstr("evenbevel watch " + folder.path().string())));
}

TEST(TypingClosedForm, WithoutAFolderTheReportGoesToOneCalledAsThePhoto) {
  const test::ScratchFolder folder;
  const ProgramRun run =
      test::run_program("cd " + folder.path().string() +
                        " && " PROGRAM " choil " SOURCE_FOLDER
                        "/sample-images/choil-hollow.jpg --camera-file " SOURCE_FOLDER
                        "/calibration/sample-phone.yml");
  EXPECT_EQ(run.exit_code, 0) << run.output;
  EXPECT_THAT(run.output, HasSubstr("choil-hollow/report.html"));
  EXPECT_TRUE(std::filesystem::exists(folder / "choil-hollow/report.json"));
}

// Every command's, and of those below a command too.
TEST(TypingClosedForm, NoHelpLineIsLongerThanAHundredColumns) {
  int lines_seen = 0;
  for (const char* command : {"",
                              "card",
                              "calibrate",
                              "edge",
                              "side",
                              "choil",
                              "plan",
                              "study",
                              "watch",
                              "record",
                              "record add",
                              "record set",
                              "record note",
                              "record list",
                              "record show",
                              "record compare",
                              "record page",
                              "record export",
                              "record import",
                              "record remove",
                              "record restore",
                              "record check"}) {
    const ProgramRun run = typed(std::string(command) + " --help");
    EXPECT_EQ(run.exit_code, 0) << command;
    EXPECT_THAT(run.output, AllOf(HasSubstr("Usage: evenbevel"), Not(HasSubstr("Excludes:"))));
    std::istringstream lines(run.output);
    for (std::string line; std::getline(lines, line); ++lines_seen) {
      EXPECT_LE(line.size(), 100U) << command << ": " << line;
    }
  }
  EXPECT_GT(lines_seen, 300);
}

// The program's own list of commands: a new one is asked for its help too.
TEST(TypingClosedForm, EveryCommandListedHasHelp) {
  std::istringstream lines(refused(""));
  int commands = 0;
  bool below = false;
  for (std::string line; std::getline(lines, line);) {
    if (line == "Subcommands:") below = true;
    if (line.empty() || !line.starts_with("  ") || line[2] == ' ' || !below) {
      if (line.empty() && commands > 0) break;
      continue;
    }
    const std::string command = line.substr(2, line.find(' ', 2) - 2);
    const ProgramRun help = typed(command + " --help");
    EXPECT_EQ(help.exit_code, 0) << command;
    std::istringstream help_lines(help.output);
    for (std::string one; std::getline(help_lines, one);) EXPECT_LE(one.size(), 100U) << one;
    ++commands;
  }
  EXPECT_GE(commands, 9);
}

TEST(TypingBadInput, NumbersOutOfRangeAreRefusedWithTheRange) {
  const std::string edge = "edge blade.jpg --thickness ";
  for (const char* thick : {"1e308mm", "1e5mm", "0.001mm", "20in"}) {
    EXPECT_THAT(refused(edge + thick),
                AllOf(HasSubstr(thick), HasSubstr("allowed is 0.01 mm to 300 mm")));
    EXPECT_THAT(refused("side --left l.jpg --thickness " + std::string(thick)),
                HasSubstr("allowed is 0.01 mm to 300 mm"));
  }
  EXPECT_THAT(refused(edge + "1e5 --units in"), HasSubstr("allowed is 0.0004 in to 11.811 in"));
  for (const char* angle : {"nan", "inf", "14", "76", "thirty"}) {
    EXPECT_THAT(refused(edge + "3mm --facet-angle " + angle), HasSubstr("allowed is 15 to 75"));
  }
  EXPECT_THAT(refused(edge + "3mm --jaw-lean nan"), HasSubstr("allowed is -10 to 10"));
  EXPECT_THAT(refused(edge + "3mm --step 80mm"), HasSubstr("allowed is 0.1 mm to 50 mm"));
  EXPECT_THAT(refused(edge + "3mm --edge-height 1e7mm"), HasSubstr("to 1000 mm"));
  EXPECT_THAT(refused(edge + "3mm --monte-carlo nan"), HasSubstr("allowed is 100 to 1000000"));
  for (const char* seed : {"-1", "1.5", "99999999999999999999999"}) {
    EXPECT_THAT(refused(edge + "3mm --monte-carlo 100 --seed " + std::string(seed)),
                HasSubstr("allowed is a whole number, 0 or more"));
  }
  EXPECT_THAT(refused("plan --stock 1e308mm --land 0.3mm"), HasSubstr("to 1000 mm"));
}

/// A program of that name in the folder, which notes what it was asked to open.
std::string with_opener(const test::ScratchFolder& folder, const std::string& name) {
  const std::string bin = (folder / "bin").string();
  std::filesystem::create_directories(bin);
  test::write_file(bin + "/" + name, "#!/bin/sh\necho \"$1\" > " + bin + "/opened\n");
  std::filesystem::permissions(bin + "/" + name, std::filesystem::perms::owner_all);
  return "cd " + folder.path().string() + " && PATH=" + bin +
         " " PROGRAM " choil " SOURCE_FOLDER
         "/sample-images/choil-hollow.jpg --open -o out --camera-file " SOURCE_FOLDER
         "/calibration/sample-phone.yml";
}

TEST(TypingClosedForm, OpenShowsTheReport) {
  const test::ScratchFolder folder;
  const ProgramRun run = test::run_program(with_opener(folder, "xdg-open"));
  EXPECT_EQ(run.exit_code, 0) << run.output;
  const auto opened = folder / "bin/opened";
  for (int i = 0; i < 100 && !std::filesystem::exists(opened); ++i) {
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
  }
  ASSERT_TRUE(std::filesystem::exists(opened));
  EXPECT_THAT(test::file_text(opened), HasSubstr("out/report.html"));
}

TEST(TypingBadInput, OpenSaysSoWhereThereIsNoOpener) {
  const test::ScratchFolder folder;
  const ProgramRun run = test::run_program(with_opener(folder, "another"));
  EXPECT_EQ(run.exit_code, 0) << run.output;
  EXPECT_THAT(run.output, AllOf(HasSubstr("no xdg-open here"), HasSubstr("out/report.html")));
}

}  // namespace
}  // namespace evenbevel
