// The manual's pages and what completes a line in a shell, both told by the program itself.

#include <filesystem>
#include <fstream>
#include <regex>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "run_program.hpp"
#include "scratch_folder.hpp"

namespace evenbevel {
namespace {

using test::ProgramRun;
using testing::AllOf;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsSupersetOf;
using testing::Not;

std::string help_of(const std::string& command) {
  const ProgramRun run = test::run_program(std::string(PROGRAM) + ' ' + command + " --help");
  EXPECT_EQ(run.exit_code, 0) << run.output;
  return run.output;
}

/// The lines of a help text below a heading that name something, to the next blank line.
std::vector<std::string> named_below(const std::string& heading, const std::string& help) {
  std::vector<std::string> names;
  const std::size_t at = help.find('\n' + heading + '\n');
  if (at == std::string::npos) return names;
  std::istringstream lines(help.substr(at + heading.size() + 2));
  for (std::string line; std::getline(lines, line) && !line.empty();) {
    if (line.starts_with("  ") && line[2] != ' ') names.push_back(line.substr(2));
  }
  return names;
}

/// "--turned" and the like, of all options of a help text.
std::set<std::string> options_in(const std::string& help) {
  std::set<std::string> names;
  for (const std::string& line : named_below("Options:", help)) {
    std::istringstream comma_separated(line.substr(0, line.find(' ')));
    for (std::string name; std::getline(comma_separated, name, ',');) names.insert(name);
  }
  return names;
}

std::vector<std::string> commands_in(const std::string& help) {
  std::vector<std::string> names;
  for (const std::string& line : named_below("Subcommands:", help)) {
    names.push_back(line.substr(0, line.find(' ')));
  }
  return names;
}

/// A page as a reader sees it, in one long line a paragraph.
std::string shown(const std::filesystem::path& page) {
  return test::run_program("MANWIDTH=4000 man --warnings -l " + page.string() + " 2>&1").output;
}

/// As written by 'man-pages'.
class Pages : public testing::Test {
 protected:
  void SetUp() override {
    const ProgramRun run =
        test::run_program(std::string(PROGRAM) + " man-pages " + (folder_ / "man").string());
    ASSERT_EQ(run.exit_code, 0) << run.output;
  }
  std::filesystem::path page(const std::string& name) const {
    return folder_ / "man" / (name + ".1");
  }
  std::string source(const std::string& name) const {
    std::ifstream file(page(name));
    return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
  }

  /// The page has all that --help lists, and so have those below. @return  How many options.
  std::size_t expect_whole(const std::string& command, const std::string& name) {
    const std::string help = help_of(command), text = source(name);
    EXPECT_FALSE(text.empty()) << name;
    const std::set<std::string> options = options_in(help);
    EXPECT_GE(options.size(), 1U) << help;
    for (const std::string& option : options) {
      const std::string escaped = std::regex_replace(option, std::regex("-"), "\\-");
      EXPECT_THAT(text, HasSubstr("\\fB" + escaped + "\\fR")) << name;
    }
    std::size_t count = options.size();
    for (const std::string& below : commands_in(help)) {
      EXPECT_THAT(
          text, HasSubstr("\\fB" + std::regex_replace(name + '-' + below, std::regex("-"), "\\-") +
                          "\\fR(1)"));
      count += expect_whole(command + ' ' + below, name + '-' + below);
    }
    return count;
  }

  test::ScratchFolder folder_;
};
using ManualClosedForm = Pages;
using ManualBadInput = Pages;

TEST_F(ManualClosedForm, EachPageHasEveryCommandAndOptionOfItsHelp) {
  EXPECT_GT(expect_whole("", "evenbevel"), 150U);  // had the help not been read: none
}

TEST_F(ManualClosedForm, NoPageIsThereWithoutItsCommand) {
  std::size_t pages = 0;
  for ([[maybe_unused]] const auto& file : std::filesystem::directory_iterator(folder_ / "man"))
    ++pages;
  std::size_t commands = 1;
  for (const std::string& one : commands_in(help_of(""))) {
    commands += 1 + commands_in(help_of(one)).size();
  }
  EXPECT_EQ(pages, commands);
}

TEST_F(ManualClosedForm, ManShowsItWithoutAWarning) {
  if (test::run_program("man --version").exit_code != 0) GTEST_SKIP() << "man is not installed";
  const std::string text = shown(page("evenbevel-edge"));
  EXPECT_THAT(text, Not(HasSubstr("warning")));
  EXPECT_THAT(text, AllOf(HasSubstr("evenbevel-edge - Measure the edge from above"),
                          HasSubstr("--shows scribed|ground|bevelled"),
                          HasSubstr("(15 to 75) [45]"), HasSubstr("From 'evenbevel calibrate'"),
                          HasSubstr("evenbevel edge later.jpg --knife \"paring 3\""),
                          HasSubstr("0 measured (within --tolerance, or none given), 1 outside"),
                          HasSubstr("Never measure, or reach for a blade, near a running belt.")));
  EXPECT_THAT(shown(page("evenbevel-side")), HasSubstr("-o out/ --knife \"paring 3\" \\"));
}

TEST_F(ManualBadInput, AFolderThatCannotBeMadeIsNamed) {
  std::ofstream(folder_ / "file") << "x";
  const std::string below = (folder_ / "file" / "man").string();
  const ProgramRun run = test::run_program(std::string(PROGRAM) + " man-pages " + below);
  EXPECT_EQ(run.exit_code, 3);
  EXPECT_THAT(run.output,
              AllOf(HasSubstr(below + " cannot be made"), HasSubstr("do: give a folder")));
}

/// The words offered for a line, and ":files" or ":folders".
std::vector<std::string> offered(const std::string& line) {
  const ProgramRun run = test::run_program(std::string(PROGRAM) + " candidates -- " + line);
  EXPECT_EQ(run.exit_code, 0) << run.output;
  std::vector<std::string> words;
  std::istringstream lines(run.output);
  for (std::string word; std::getline(lines, word);)
    words.push_back(word.substr(0, word.find('\t')));
  return words;
}

TEST(CompletionClosedForm, CommandsThenTheirOwnCommands) {
  EXPECT_THAT(offered("''"), IsSupersetOf({"card", "edge", "side", "choil", "record", "bench"}));
  EXPECT_THAT(offered("c"), ElementsAre("card", "calibrate", "choil"));
  EXPECT_THAT(offered("record re"), ElementsAre("remove", "restore"));
}

TEST(CompletionClosedForm, OptionsThatBeginSo) {
  EXPECT_THAT(offered("edge --un"), ElementsAre("--units"));
  EXPECT_THAT(offered("edge blade.jpg --thickness 3.2mm -"),
              AllOf(Contains("--units"), Contains("-o"), Not(Contains("--thickness"))));
}

TEST(CompletionClosedForm, OptionsThatDoNotGoWithOneGivenAreLeftOut) {
  EXPECT_THAT(offered("edge --turn"), ElementsAre("--turned"));
  EXPECT_THAT(offered("edge --no-card --turn"), ElementsAre());
}

TEST(CompletionClosedForm, ChoicesOfAnOptionAndOfAnArgument) {
  EXPECT_THAT(offered("edge --units ''"), ElementsAre("mm", "in", "thou"));
  EXPECT_THAT(offered("edge --units t"), ElementsAre("thou"));
  EXPECT_THAT(offered("edge --units=t"), ElementsAre("--units=thou"));
  EXPECT_THAT(offered("edge --units = t"), ElementsAre("thou"));  // bash's own splitting
  EXPECT_THAT(offered("edge --units ="), ElementsAre("mm", "in", "thou"));
  EXPECT_THAT(offered("card ''"), ElementsAre("practice", "edge", "side", "heel", "lens"));
  EXPECT_THAT(offered("card edge --sheet l"), ElementsAre("letter"));
}

TEST(CompletionClosedForm, FilesAndFoldersWhereTheyAreAsked) {
  EXPECT_THAT(offered("edge ''"), ElementsAre(":files"));
  EXPECT_THAT(offered("edge a.jpg --camera-file ''"), ElementsAre(":files"));
  EXPECT_THAT(offered("edge a.jpg --turned b.jpg ''"), ElementsAre(":files"));
  EXPECT_THAT(offered("edge a.jpg -o ''"), ElementsAre(":folders"));
  EXPECT_THAT(offered("edge a.jpg --thickness ''"), ElementsAre());
  EXPECT_THAT(offered("record add ''"), Not(Contains(":files")));
  EXPECT_THAT(offered("record add 'paring 3' ''"), ElementsAre(":files"));
}

TEST(CompletionBadInput, WordsThatAreNoneOffTheProgramsOfferNothingOrFiles) {
  EXPECT_THAT(offered("nonsense ''"), ElementsAre("-h", "--help", "--version"));
  EXPECT_THAT(offered("edge --nonsense"), ElementsAre());
  EXPECT_THAT(offered("edge --nonsense=x"), ElementsAre());
  EXPECT_THAT(offered("=  ="), ElementsAre());
  EXPECT_THAT(offered(""), Contains("edge"));
}

/// What bash would offer for a line of words, the last one being typed.
std::string in_bash(const std::string& words) {
  const std::string script = std::string("source ") + SOURCE_FOLDER +
                             "/cmake/package/evenbevel.bash; COMP_WORDS=(" + PROGRAM + ' ' + words +
                             "); COMP_CWORD=$((${#COMP_WORDS[@]} - 1)); _evenbevel " + PROGRAM +
                             "; echo \"${COMPREPLY[*]}\"";
  return test::run_program("bash -c '" + script + "'").output;
}

TEST(CompletionClosedForm, BashAsksTheProgram) {
  EXPECT_EQ(in_bash("c"), "card calibrate choil\n");
  EXPECT_EQ(in_bash("edge --units \"\""), "mm in thou\n");
  EXPECT_EQ(in_bash("edge blade.jpg --tole"), "--tolerance\n");
  EXPECT_EQ(in_bash("edge \"\""), "\n");  // files, by bash itself
  EXPECT_THAT(test::run_program("bash -c 'source " SOURCE_FOLDER
                                "/cmake/package/evenbevel.bash; complete -p evenbevel'")
                  .output,
              HasSubstr("-F _evenbevel evenbevel"));
}

TEST(CompletionClosedForm, FishAsksTheProgram) {
  if (test::run_program("fish --version").exit_code != 0) GTEST_SKIP() << "fish is not installed";
  const std::string program = PROGRAM;
  const std::string folder = program.substr(0, program.rfind('/'));
  const ProgramRun run =
      test::run_program("HOME=/nonexistent fish --no-config -c 'set PATH " + folder +
                        " $PATH; source " SOURCE_FOLDER
                        "/cmake/package/evenbevel.fish; complete -C \"evenbevel edge --units \"'");
  EXPECT_THAT(run.output, HasSubstr("in\nmm\nthou\n"));
}

TEST(CompletionClosedForm, ZshAsksTheProgram) {
  if (test::run_program("zsh --version").exit_code != 0) GTEST_SKIP() << "zsh is not installed";
  const ProgramRun run = test::run_program(
      "zsh -f -c '_files() { print FILES }; _describe() { print -l -- ${(P)2} }; words=(" +
      std::string(PROGRAM) +
      " card edge --sheet \"\"); CURRENT=5; source " SOURCE_FOLDER "/cmake/package/_evenbevel'");
  EXPECT_EQ(run.output, "a4:\nletter:\n");
}

}  // namespace
}  // namespace evenbevel
