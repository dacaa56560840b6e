// What the program makes of words that it does not know, and of those that were left out.

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

}  // namespace
}  // namespace evenbevel
