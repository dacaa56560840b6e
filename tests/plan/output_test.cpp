#include <sstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "evenbevel/advice.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/plan_report.hpp"
#include "scratch_folder.hpp"
#include "seeded.hpp"
#include "true_blade.hpp"

namespace evenbevel {
namespace {

using enum PlanQuantity;
using testing::HasSubstr;
using testing::Not;

Plan scribe_plan() { return make_plan({.given = {{stock, 3.302}, {land, 0.3048}}}); }

TEST(PlanTextClosedForm, BothUnitsTheAskedOneFirst) {
  const Plan plan = scribe_plan();
  EXPECT_THAT(plan_text(plan, LengthUnit::inch), HasSubstr("Height gauge at 0.0590 in (1.499 mm)"));
  EXPECT_THAT(plan_text(plan, LengthUnit::mm), HasSubstr("Height gauge at 1.499 mm (0.0590 in)"));
  EXPECT_THAT(plan_text(plan, LengthUnit::inch),
              HasSubstr("0.0590 in and 0.0710 in from the same"));
  EXPECT_THAT(plan_text(plan, LengthUnit::mm), HasSubstr("even if the gauge's zero is off"));
}

TEST(PlanTextClosedForm, WhatIsMissingIsNamed) {
  const std::string text = plan_text(scribe_plan(), LengthUnit::mm);
  EXPECT_THAT(text,
              HasSubstr("bevel height and angle: give bevel height, or bevel angle per side"));
  EXPECT_THAT(text, HasSubstr("distal taper: give thickness at the tip and length"));
  EXPECT_THAT(text, Not(HasSubstr("scribe lines: give")));
}

TEST(PlanTextProperty, NoLineIsWiderThanTheTerminal) {
  for (int i = 0; i < 100; ++i) {
    std::mt19937_64 rng = test::seeded("PlanTextProperty", i);
    PlanRequest request;
    request.given = test::some_of(test::true_blade(rng), 0.5, rng);
    if (request.given.size() < 4) continue;
    for (const LengthUnit unit : {LengthUnit::mm, LengthUnit::inch}) {
      std::istringstream lines(plan_text(make_plan(request), unit));
      for (std::string line; std::getline(lines, line);) EXPECT_LE(line.size(), 100U) << line;
    }
  }
}

TEST(PlanJsonClosedForm, SpeaksMillimetresAndDegrees) {
  PlanRequest request{.given = {{stock, 4.0}, {land, 0.4}, {bevel_height, 20.0}}};
  request.knife = "Hunter \"3\"";
  const nlohmann::json json =
      nlohmann::json::parse(plan_json(make_plan(request), "evenbevel plan --stock 4mm"));
  EXPECT_EQ(json.at("schema"), "evenbevel.plan/1");
  EXPECT_EQ(json.at("command"), "evenbevel plan --stock 4mm");
  EXPECT_EQ(json.at("knife"), "Hunter \"3\"");
  const nlohmann::json& quantities = json.at("quantities");
  EXPECT_EQ(quantities.at("stock").at("value"), 4.0);
  EXPECT_EQ(quantities.at("stock").at("given"), true);
  EXPECT_NEAR(quantities.at("bevel_angle").at("value").get<double>(), 5.142765, 1e-6);
  EXPECT_EQ(quantities.at("bevel_angle").at("unit"), "deg");
  EXPECT_EQ(quantities.at("bevel_angle").at("from"),
            nlohmann::json({"stock", "land", "bevel_height"}));
  EXPECT_FALSE(quantities.contains("flat_height"));
  EXPECT_EQ(json.at("cautions").size(), cautions().size());
  EXPECT_FALSE(json.at("missing").empty());
  EXPECT_NEAR(json.at("behind_edge").at(1).at("ground").get<double>(), 1.3, 1e-6);
}

TEST(PlanWriteClosedForm, JsonAndCardAndNothingElse) {
  const test::ScratchFolder scratch;
  for (int run = 0; run < 2; ++run) {  // the second replaces the first
    write_plan(scribe_plan(), LengthUnit::mm, Sheet::a4, "", scratch / "a/b");
  }
  int files = 0;
  for (const auto& entry : std::filesystem::directory_iterator(scratch / "a/b")) {
    files += entry.is_regular_file() ? 1 : 0;
  }
  EXPECT_EQ(files, 2);
  EXPECT_EQ(test::file_text(scratch / "a/b/plan.json"), plan_json(scribe_plan(), ""));
  EXPECT_TRUE(test::file_text(scratch / "a/b/plan.pdf").starts_with("%PDF"));
}

TEST(PlanWriteBadInput, AFolderInTheWayLeavesTheEarlierFile) {
  const test::ScratchFolder scratch;
  test::write_file(scratch / "plan.json", "the earlier one");
  std::filesystem::create_directory(scratch / "plan.pdf");
  EXPECT_THROW(write_plan(scribe_plan(), LengthUnit::mm, Sheet::a4, "", scratch.path()), Error);
  EXPECT_EQ(test::file_text(scratch / "plan.json"), "the earlier one");
  test::write_file(scratch / "file", "");
  EXPECT_THROW(write_plan(scribe_plan(), LengthUnit::mm, Sheet::a4, "", scratch / "file"), Error);
}

}  // namespace
}  // namespace evenbevel
