#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "choil_fixture.hpp"
#include "evenbevel/advice.hpp"
#include "evenbevel/units.hpp"
#include "report_checks.hpp"

namespace evenbevel {
namespace {

using test::count_of;
using test::DrawnSection;
using test::Json;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;
using testing::SizeIs;

Json report_of(const ChoilResult& result) {
  return Json::parse(statement_json(
      choil_statement(result, {}, test::photo_of(DrawnSection{}), test::choil_camera(),
                      {.unit = LengthUnit::inch, .tolerance_mm = 0.05})));
}

std::string page_of(const ChoilResult& result, const ReportSettings& settings) {
  return statement_page(
      choil_statement(result, {}, test::photo_of(DrawnSection{}), test::choil_camera(), settings),
      {"The section.", {'M', 'a', 'n'}});
}

// Names: the design's table of quantities for the choil view; bows and stock thickness are ours.
TEST(ChoilJsonClosedForm, QuantitiesCarryTheNamesOfTheDesign) {
  EXPECT_THAT(
      test::keys_of(report_of(test::result_of(DrawnSection{}))["quantities"]),
      testing::UnorderedElementsAre("thickness_at", "angle_left", "angle_right", "included_angle",
                                    "asymmetry", "hollow_radius_right", "edge_thickness",
                                    "bow_left", "bow_right", "stock_thickness"));
}

TEST(ChoilJsonClosedForm, ThicknessAtIsAListOfDepthAndValue) {
  ChoilResult result = test::result_of(DrawnSection{});
  const Json list = report_of(result)["quantities"]["thickness_at"];
  ASSERT_THAT(list, SizeIs(6));
  EXPECT_DOUBLE_EQ(list[2]["depth"], 1.0);
  EXPECT_NEAR(list[2]["value"], 0.3 + std::tan(0.05) + std::tan(0.04), 1e-5);
  EXPECT_NEAR(list[2]["U95"], 1.960 * 0.005, 1e-5);  // JCGM 100:2008 table G.2
  result.depths[0].thickness_mm.reset();
  EXPECT_DOUBLE_EQ(report_of(result)["quantities"]["thickness_at"][0]["depth"], 0.5);
  result.depths.clear();
  EXPECT_FALSE(report_of(result)["quantities"].contains("thickness_at"));
}

TEST(ChoilJsonClosedForm, WhatWasNotMeasuredIsAbsentAndZeroIsNot) {
  ChoilResult result = test::result_of(DrawnSection{});
  result.asymmetry_mm = Measured{0.0, 0.01};
  EXPECT_EQ(report_of(result)["quantities"]["asymmetry"]["value"], 0.0);
  result.asymmetry_mm.reset();
  result.edge_thickness_mm.reset();
  result.included_angle_rad.reset();
  result.stock_thickness_mm = Measured{std::numeric_limits<double>::quiet_NaN(), 0.1};
  result.left = {};
  result.right = {};
  const Json json = report_of(result);
  EXPECT_THAT(test::keys_of(json["quantities"]), testing::ElementsAre("thickness_at"));
  EXPECT_EQ(json["verdict"], "unresolved");
  EXPECT_FALSE(test::has_null(json));
  EXPECT_FALSE(test::has_null(report_of(ChoilResult{})));
}

TEST(ChoilJsonClosedForm, DegreesMillimetresAndTheWheelsInterval) {
  const Json json = report_of(test::result_of(DrawnSection{}));
  EXPECT_EQ(json["view"], "choil");
  EXPECT_NEAR(json["quantities"]["angle_left"]["value"], degrees(0.05), 1e-5);
  const Json wheel = json["quantities"]["hollow_radius_right"];
  EXPECT_DOUBLE_EQ(wheel["value"], 125.0);
  EXPECT_DOUBLE_EQ(wheel["low"], 108.0);
  EXPECT_DOUBLE_EQ(wheel["high"], 147.0);
  EXPECT_EQ(json["shape"]["right"], "hollow");
  EXPECT_EQ(json["card"]["kind"], "heel");
  ChoilResult open = test::result_of(DrawnSection{});
  open.right.hollow_radius_high_mm.reset();
  EXPECT_FALSE(report_of(open)["quantities"]["hollow_radius_right"].contains("high"));
}

TEST(ChoilJsonClosedForm, StationsCarryBothOutlines) {
  const ChoilResult result = test::result_of(DrawnSection{});
  const Json station = report_of(result)["stations"][40];
  EXPECT_DOUBLE_EQ(station["depth"], 12.0);
  EXPECT_NEAR(station["px"]["left"][0], result.outline[40].left_px->x(), 0.001);
  EXPECT_NEAR(station["px"]["right"][1], result.outline[40].right_px->y(), 0.001);
  EXPECT_TRUE(station.contains("half_left"));
}

TEST(ChoilCsvClosedForm, EveryRowHasEveryColumn) {
  ChoilResult result = test::result_of(DrawnSection{});
  result.outline[3] = ChoilDepth{};
  result.outline[3].depth_mm = 0.9;
  const std::vector<std::string> lines = test::lines_of(stations_csv(
      choil_statement(result, {}, test::photo_of(DrawnSection{}), test::choil_camera(), {})));
  ASSERT_EQ(lines.size(), 102U);
  EXPECT_EQ(lines[0],
            "depth_mm,left_px_x,left_px_y,right_px_x,right_px_y,thickness_mm,thickness_u_mm,"
            "thickness_U95_mm,half_left_mm,half_left_u_mm,half_left_U95_mm,half_right_mm,"
            "half_right_u_mm,half_right_U95_mm,asymmetry_mm,asymmetry_u_mm,asymmetry_U95_mm");
  for (const std::string& line : lines) EXPECT_THAT(test::fields_of(line), SizeIs(17));
  EXPECT_EQ(lines[4], "0.900,,,,,,,,,,,,,,,,");
}

// ISO 14253-1. Asymmetry at 20 mm: 20 (tan 0.05 - tan 0.04) = 0.2004 mm, U95 0.0196 mm.
TEST(ChoilVerdictClosedForm, TheWholeIntervalDecides) {
  const ChoilResult result = test::result_of(DrawnSection{});
  EXPECT_EQ(choil_verdict(result, {}), Verdict::none);
  EXPECT_EQ(choil_verdict(result, {.tolerance_mm = 0.23}), Verdict::within);
  EXPECT_EQ(choil_verdict(result, {.tolerance_mm = 0.20}), Verdict::unresolved);
  EXPECT_EQ(choil_verdict(result, {.tolerance_mm = 0.17}), Verdict::outside);
  EXPECT_EQ(choil_verdict(ChoilResult{}, {.tolerance_mm = 0.17}), Verdict::unresolved);
}

TEST(ChoilTextClosedForm, FitsAGlance) {
  for (const LengthUnit unit : {LengthUnit::mm, LengthUnit::inch}) {
    const std::string text = statement_text(
        choil_statement(test::result_of(DrawnSection{}), {}, test::photo_of(DrawnSection{}),
                        test::choil_camera(), {.unit = unit, .tolerance_mm = 0.05}),
        unit);
    const std::vector<std::string> lines = test::lines_of(text);
    EXPECT_LE(lines.size(), 22U) << text;
    for (const std::string& line : lines) EXPECT_LE(line.size(), 100U) << line;
    EXPECT_THAT(text, AllOf(HasSubstr("thickness at "), HasSubstr("verdict: outside"),
                            HasSubstr("do: Grind the left face")));
    if (unit == LengthUnit::inch) {
      EXPECT_THAT(text, Not(HasSubstr(" mm")));
    }
  }
}

TEST(ChoilAdviceClosedForm, NeverFromAnUnresolvedNumber) {
  ChoilResult result = test::result_of(DrawnSection{});
  const auto first = [&] { return sentence(choil_advice(result, {}).front(), LengthUnit::mm); };
  EXPECT_THAT(first(), HasSubstr("Grind the left face"));
  result.asymmetry_mm = Measured{-0.2, 0.02};
  EXPECT_THAT(first(), HasSubstr("Grind the right face"));
  result.asymmetry_mm = Measured{0.2, 0.2};
  EXPECT_THAT(first(), Not(HasSubstr("Grind")));
  result.asymmetry_mm.reset();
  EXPECT_THAT(first(), HasSubstr("grind nothing"));
  EXPECT_THAT(sentence(choil_advice(result, {}).back(), LengthUnit::mm),
              HasSubstr("125 mm radius, 250 mm across, leaves it (95 %: radius 108 mm to 147 mm)"));
  result.right.hollow_radius_high_mm.reset();
  EXPECT_THAT(sentence(choil_advice(result, {}).back(), LengthUnit::mm),
              HasSubstr("108 mm and up"));
}

TEST(ChoilHtmlClosedForm, HoldsBothUnitsAndTheCharts) {
  const std::string page =
      page_of(test::result_of(DrawnSection{}), {.unit = LengthUnit::inch, .tolerance_mm = 0.05});
  EXPECT_THAT(page,
              AllOf(HasSubstr("data-unit=\"in\""), HasSubstr("<span class=\"mm\">+0.200 mm</span>"),
                    HasSubstr("<span class=\"in\">+0.0079 in</span>"),  // 0.2004 / 25.4
                    HasSubstr("Behind the edge"), HasSubstr("hollow"), HasSubstr("Cautions")));
  EXPECT_EQ(count_of(page, "class=\"chart\""), 2U);
  EXPECT_THAT(page_of(ChoilResult{}, {.tolerance_mm = 0.2}),
              AllOf(HasSubstr("</html>"), HasSubstr("NOT RESOLVED"), Not(HasSubstr("nan"))));
}

}  // namespace
}  // namespace evenbevel
