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

// 0.130 in less 0.012 in is 0.118 in; half of that from each face.
TEST(PlanCommandClosedForm, ScribeLinesInInches) {
  const ProgramRun run = plan("--stock 0.130in --land 0.012in --units in");
  EXPECT_EQ(run.exit_code, 0);
  EXPECT_THAT(run.output, AllOf(HasSubstr("Height gauge at 0.0590 in (1.499 mm)"),
                                HasSubstr("even if the gauge's zero is off"),
                                HasSubstr("0.0590 in and 0.0710 in from the same face"),
                                HasSubstr("#32"), HasSubstr("Not worked out")));
}

TEST(PlanCommandClosedForm, AnyUnitAndFractions) {
  const std::string expected = plan("--stock 3.175 --land 0.3048 --bevel-height 38.1").output;
  EXPECT_THAT(expected, HasSubstr("3.175 mm"));
  EXPECT_EQ(plan("--stock 1/8in --land 12thou --bevel-height '1 1/2in'").output, expected);
  EXPECT_EQ(plan("--stock '1/8\"' --land 0.012in --bevel-height 1-1/2in").output, expected);
  EXPECT_EQ(plan("--stock 0.3175cm --land 304.8um --bevel-height 1.5inch").output, expected);
  EXPECT_NE(plan("--stock 3.18 --land 0.3048 --bevel-height 38.1").output, expected);
}

// Number 32 is 0.1160 in (ANSI/ASME B94.11M).
TEST(PlanCommandClosedForm, ADrillByItsName) {
  const std::string by_size = plan("--stock 0.13in --drill 0.1160in").output;
  EXPECT_THAT(by_size, HasSubstr("0.356 mm"));  // the gap left, 0.0140 in
  EXPECT_EQ(plan("--stock 0.13in --drill '#32'").output, by_size);
  EXPECT_EQ(plan("--stock 0.13in --drill no32").output, by_size);
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
      {"--stock 0.13in --land 0.012in --scribe-height 0.04in --units in",
       {"0.1300 in", "0.0920 in"}},
      {"--stock 0.13in --land 0.2in --units in", {"land 0.2000 in", "stock 0.1300 in"}},
      {"--stock 4", {"nothing follows", "scribe lines: land"}},
      {"", {"nothing is given", "stock and land"}},
      {"--stock thick", {"--stock", "'thick' is not a length", "5/32in"}},
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
