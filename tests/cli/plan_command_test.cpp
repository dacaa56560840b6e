#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "run_program.hpp"
#include "scratch_folder.hpp"

namespace evenbevel::test {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

ProgramRun plan(const std::string& arguments) {
  return run_program(std::string(PROGRAM) + " plan " + arguments);
}

// 0.100 in less 0.010 in is 0.090 in; half of that from each face.
TEST(PlanCommandClosedForm, ScribeLinesInInches) {
  const ProgramRun run = plan("--stock 0.100in --land 0.010in --units in");
  EXPECT_EQ(run.exit_code, 0);
  EXPECT_THAT(run.output, AllOf(HasSubstr("Height gauge at 0.0450 in (1.143 mm)"),
                                HasSubstr("even if the gauge's zero is off"),
                                HasSubstr("0.0450 in and 0.0550 in from the same face"),
                                HasSubstr("#43"), HasSubstr("Not worked out")));
}

TEST(PlanCommandClosedForm, AnyUnitAndFractions) {
  const std::string expected = plan("--stock 2.38125 --land 0.254 --bevel-height 38.1").output;
  EXPECT_THAT(expected, HasSubstr("2.381 mm"));
  EXPECT_EQ(plan("--stock 3/32in --land 10thou --bevel-height '1 1/2in'").output, expected);
  EXPECT_EQ(plan("--stock '3/32\"' --land 0.01in --bevel-height 1-1/2in").output, expected);
  EXPECT_EQ(plan("--stock 0.238125cm --land 254um --bevel-height 1.5inch").output, expected);
  EXPECT_NE(plan("--stock 2.39 --land 0.254 --bevel-height 38.1").output, expected);
}

// Number 43 is 0.0890 in (ANSI/ASME B94.11M).
TEST(PlanCommandClosedForm, ADrillByItsName) {
  const std::string by_size = plan("--stock 0.1in --drill 0.0890in").output;
  EXPECT_THAT(by_size, HasSubstr("0.279 mm"));  // the gap left, 0.0110 in
  EXPECT_EQ(plan("--stock 0.1in --drill '#43'").output, by_size);
  EXPECT_EQ(plan("--stock 0.1in --drill no43").output, by_size);
}

TEST(PlanCommandClosedForm, JsonAndCardIntoAFolder) {
  const ScratchFolder scratch;
  const std::string folder = (scratch / "out").string();
  const ProgramRun run = plan("--stock 4 --land 0.4 --bevel-angle 5 --sheet letter -o " + folder);
  EXPECT_EQ(run.exit_code, 0);
  EXPECT_THAT(run.output, HasSubstr(folder + "/plan.pdf"));
  EXPECT_TRUE(file_text(scratch / "out/plan.pdf").starts_with("%PDF"));
  const nlohmann::json json = nlohmann::json::parse(file_text(scratch / "out/plan.json"));
  EXPECT_EQ(json.at("schema"), "evenbevel.plan/1");
  EXPECT_THAT(json.at("command").get<std::string>(), HasSubstr("plan --stock 4 --land 0.4"));
  const ProgramRun printed = plan("--stock 4 --land 0.4 --bevel-angle 5 --json");
  EXPECT_EQ(nlohmann::json::parse(printed.output).at("quantities"), json.at("quantities"));
}

TEST(PlanCommandClosedForm, HelpHasExamplesAndCautions) {
  const ProgramRun run = plan("--help");
  EXPECT_EQ(run.exit_code, 0);
  EXPECT_THAT(run.output, AllOf(HasSubstr("Examples:"), HasSubstr("--bevel-height LENGTH"),
                                HasSubstr("Exit code:"), HasSubstr("Cautions:"),
                                HasSubstr("A blade just off the belt burns.")));
}

struct Refused {
  std::string arguments;
  std::vector<std::string> said;
};

TEST(PlanCommandBadInput, WrongUseIsTwoAndSaysWhy) {
  const std::vector<Refused> all{
      {"--stock 4 --land 0.4 --bevel-height 20 --bevel-angle 6", {"6.00 deg", "5.14 deg", "do: "}},
      {"--stock 0.1in --land 0.01in --scribe-height 0.04in --units in", {"0.1000 in", "0.0900 in"}},
      {"--stock 0.1in --land 0.2in --units in", {"land 0.2000 in", "stock 0.1000 in"}},
      {"--stock 4", {"nothing follows", "scribe lines: land"}},
      {"", {"nothing is given", "stock and land"}},
      {"--stock thick", {"--stock", "'thick' is not a length", "3/32in"}},
      {"--stock=-4 --land 1", {"--stock", "not a length"}},
      {"--stock 4 --bevel-angle 5mm", {"--bevel-angle", "not an angle"}},
      {"--stock 4 --land 0.4 --facet-angle 80", {"--facet-angle"}},
      {"--stock 4 --land 0.4 --step 0", {"--step"}},
      {"--stock 4 --land 0.4 --sheet a3", {"--sheet"}},
      {"--stock 4 --land 0.4 --drill '#99'", {"--drill"}},
      {"--stock 0 --land 0", {"stock 0.000 mm"}}};
  for (const Refused& refused : all) {
    const ProgramRun run = plan(refused.arguments);
    EXPECT_EQ(run.exit_code, 2) << refused.arguments;
    for (const std::string& said : refused.said) EXPECT_THAT(run.output, HasSubstr(said));
    EXPECT_THAT(run.output, Not(HasSubstr("Height gauge"))) << refused.arguments;
  }
}

TEST(PlanCommandBadInput, AFolderThatCannotBeWrittenIsThree) {
  const ScratchFolder scratch;
  write_file(scratch / "file", "");
  const ProgramRun run = plan("--stock 4 --land 0.4 -o " + (scratch / "file").string());
  EXPECT_EQ(run.exit_code, 3);
  EXPECT_THAT(run.output, AllOf(HasSubstr((scratch / "file").string()), HasSubstr("\n  do: ")));
}

}  // namespace
}  // namespace evenbevel::test
