#include <cmath>
#include <map>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/advice.hpp"
#include "evenbevel/units.hpp"
#include "report_checks.hpp"
#include "side_fixture.hpp"

namespace evenbevel {
namespace {

using test::count_of;
using test::DrawnFaces;
using test::Json;
using testing::AllOf;
using testing::Each;
using testing::HasSubstr;
using testing::Not;
using testing::SizeIs;

const ReportSettings kSideReportSettings{.unit = LengthUnit::inch,  // must not matter to the JSON
                                         .tolerance_mm = 0.2,
                                         .command_line = "evenbevel side --units in"};

Statement statement_of(const SideResult& result) {
  static const test::FacePhotos photos{DrawnFaces{}};
  return side_statement(result, test::side_settings(), photos.given(), kSideReportSettings);
}
Json report_of(const SideResult& result) {
  return Json::parse(statement_json(statement_of(result)));
}
std::string side_text(const SideResult& result, const ReportSettings& settings) {
  static const test::FacePhotos photos{DrawnFaces{}};
  return statement_text(side_statement(result, test::side_settings(), photos.given(), settings),
                        settings.unit);
}
Json report_of(const DrawnFaces& blade) { return report_of(test::result_of(blade)); }

std::string page_of(const DrawnFaces& blade, const SideResult& result,
                    const ReportSettings& settings) {
  const test::FacePhotos photos(blade);
  return statement_page(side_statement(result, test::side_settings(), photos.given(), settings),
                        {"The faces.", {'M', 'a', 'n'}});
}

// Names: the design's table of quantities for the side view come first here, then our own.
const std::map<std::string, std::optional<Measured> SideResult::*>& quantities() {
  using R = SideResult;
  static const std::map<std::string, std::optional<Measured> R::*> all = {
      {"bevel_height_left", &R::bevel_height_left_mm},
      {"bevel_height_right", &R::bevel_height_right_mm},
      {"bevel_height_difference", &R::bevel_height_difference_mm},
      {"bevel_height_difference_worst", &R::bevel_height_difference_worst_mm},
      {"plunge_left", &R::plunge_left_mm},
      {"plunge_right", &R::plunge_right_mm},
      {"plunge_mismatch", &R::plunge_mismatch_mm},
      {"plunge_angle_left", &R::plunge_angle_left_rad},
      {"plunge_angle_right", &R::plunge_angle_right_rad},
      {"plunge_radius_left", &R::plunge_radius_left_mm},
      {"plunge_radius_right", &R::plunge_radius_right_mm},
      {"spine_to_bevel_left", &R::spine_to_bevel_left_mm},
      {"spine_to_bevel_right", &R::spine_to_bevel_right_mm},
      {"bevel_straightness_left", &R::bevel_straightness_left_mm},
      {"bevel_straightness_right", &R::bevel_straightness_right_mm},
      {"plunge_angle_difference", &R::plunge_angle_difference_rad},
      {"plunge_radius_difference", &R::plunge_radius_difference_mm},
      {"bevel_angle_left", &R::bevel_angle_left_rad},
      {"bevel_angle_right", &R::bevel_angle_right_rad},
      {"included_angle", &R::included_angle_rad}};
  return all;
}

TEST(SideJsonClosedForm, EveryQuantityHasItsNameAndIsAbsentWhenNotMeasured) {
  const DrawnFaces blade{};
  EXPECT_THAT(report_of(blade)["quantities"], SizeIs(quantities().size()));
  for (const auto& [name, member] : quantities()) {
    SideResult result = test::result_of(blade);
    EXPECT_TRUE(report_of(result)["quantities"].contains(name)) << name;
    (result.*member).reset();
    const Json without = report_of(result);
    EXPECT_FALSE(without["quantities"].contains(name)) << name;
    EXPECT_FALSE(test::has_null(without)) << name;
    (result.*member) = Measured{0.0, 0.1};  // zero is a value, not a gap
    EXPECT_EQ(report_of(result)["quantities"][name]["value"], 0.0) << name;
  }
}

TEST(SideJsonClosedForm, MillimetresAndDegreesWhateverTheDisplay) {
  const Json json = report_of(DrawnFaces{});
  EXPECT_EQ(json["schema"], "evenbevel.report/2");
  EXPECT_EQ(json["view"], "side");
  EXPECT_DOUBLE_EQ(json["quantities"]["bevel_height_difference"]["value"], 0.4);
  EXPECT_DOUBLE_EQ(json["quantities"]["plunge_angle_left"]["value"], 1.5);
  EXPECT_DOUBLE_EQ(json["budget"][2]["u"], 0.3);
  EXPECT_DOUBLE_EQ(json["settings"]["thickness"], 2.5);
  EXPECT_DOUBLE_EQ(json["settings"]["land"], 0.25);
  EXPECT_DOUBLE_EQ(json["quantities"]["bevel_height_difference_worst"]["x"], 40.0);
  for (const char* key : {"verdict", "advice", "warnings", "input", "camera", "card"}) {
    EXPECT_TRUE(json.contains(key)) << key;
  }
  EXPECT_EQ(json["input"]["right"]["photo"], "right.jpg");
  EXPECT_EQ(json["card"]["left"]["kind"], "side");
}

TEST(SideJsonClosedForm, StationsCarryBothFacesWithTheirPlaces) {
  const DrawnFaces blade{};
  const Json station = report_of(blade)["stations"][50];  // x = 30
  EXPECT_DOUBLE_EQ(station["x"], 30.0);
  EXPECT_DOUBLE_EQ(station["bevel_height_left"]["value"], 18.0);
  EXPECT_DOUBLE_EQ(station["bevel_height_right"]["value"], 17.6);
  const SideStation given = test::result_of(blade).stations[50];
  for (const char* face : {"left", "right"}) {
    for (const char* place : {"edge", "bevel", "spine"}) {
      EXPECT_THAT(station["px"][face][place], SizeIs(2)) << face << ' ' << place;
    }
  }
  EXPECT_NEAR(station["px"]["right"]["bevel"][0], given.right.bevel_px->x(), 0.001);
  EXPECT_NEAR(station["px"]["right"]["bevel"][1], given.right.bevel_px->y(), 0.001);
  const Json unseen = report_of(blade)["stations"][61];
  EXPECT_FALSE(unseen.contains("bevel_height_left"));
  EXPECT_FALSE(unseen.contains("bevel_height_difference"));
  EXPECT_FALSE(unseen["px"]["left"].contains("bevel"));
  EXPECT_TRUE(unseen.contains("bevel_height_right"));
}

TEST(SideJsonBadInput, NotANumberCountsAsNotMeasuredAndAnEmptyResultIsAReport) {
  const DrawnFaces blade{};
  SideResult result = test::result_of(blade);
  result.plunge_mismatch_mm->u = std::numeric_limits<double>::quiet_NaN();
  result.stations[50].left.edge_px->x() = std::numeric_limits<double>::infinity();
  const Json json = report_of(result);
  EXPECT_FALSE(json["quantities"].contains("plunge_mismatch"));
  EXPECT_FALSE(test::has_null(json));
  const Json empty = report_of(SideResult{});
  EXPECT_TRUE(empty["quantities"].empty());
  EXPECT_EQ(empty["verdict"], "unresolved");
}

TEST(SideCsvClosedForm, EveryRowHasEveryColumn) {
  const std::vector<std::string> lines =
      test::lines_of(stations_csv(statement_of(test::result_of(DrawnFaces{}))));
  ASSERT_EQ(lines.size(), 122U);  // heading and 121 stations
  const std::vector<std::string> head = test::fields_of(lines[0]);
  EXPECT_EQ(head[0], "x_mm");
  for (const char* column :
       {"edge_px_left_x", "bevel_px_right_y", "bevel_height_left_mm", "bevel_height_right_U95_mm",
        "bevel_angle_left_deg", "bevel_height_difference_u_mm", "included_angle_deg"}) {
    EXPECT_THAT(head, testing::Contains(column));
  }
  for (const std::string& line : lines) EXPECT_THAT(test::fields_of(line), SizeIs(head.size()));
  const auto at = [&](const char* column, std::size_t line) {
    const auto found = std::find(head.begin(), head.end(), column);
    return test::fields_of(lines[line])[static_cast<std::size_t>(found - head.begin())];
  };
  EXPECT_EQ(at("bevel_height_left_mm", 51), "18.00000");
  EXPECT_EQ(at("bevel_height_left_mm", 62), "");  // station 61 was not seen
  EXPECT_EQ(at("bevel_angle_left_deg", 51), "3.50000");
}

/// A result with two places asked for: one seen on both faces, one near the tip on the left alone.
SideResult result_with_places() {
  SideResult result = test::result_of(DrawnFaces{});
  result.bevel_stretch_left = BladeStretch{6.0, 88.0};
  result.bevel_at = {{.asked = {.distance_mm = 20.0},
                      .x_mm = 20.0,
                      .left_mm = Measured{18.0, 0.05},
                      .right_mm = Measured{17.6, 0.05},
                      .difference_mm = Measured{0.4, 0.07}},
                     {.asked = {.distance_mm = 15.0, .from_tip = true},
                      .x_mm = 85.0,
                      .left_mm = Measured{18.0, 0.05},
                      .right_mm = {},
                      .difference_mm = {}}};
  return result;
}

TEST(SideReportClosedForm, HeightsAtPlacesStandInEveryFormat) {
  const SideResult result = result_with_places();
  const Json json = report_of(result);
  ASSERT_THAT(json["bevel_height_at"], SizeIs(2));
  EXPECT_EQ(json["bevel_height_at"][0]["from"], "plunge_line");
  EXPECT_EQ(json["bevel_height_at"][0]["bevel_height_right"]["value"], 17.6);
  EXPECT_EQ(json["bevel_height_at"][1]["from"], "tip");
  EXPECT_EQ(json["bevel_height_at"][1]["x"], 85.0);
  EXPECT_FALSE(json["bevel_height_at"][1].contains("bevel_height_difference"));
  EXPECT_EQ(json["quantities"]["bevel_height_left"]["x_to"], 88.0);
  const std::vector<std::string> lines = test::lines_of(places_csv(statement_of(result)));
  ASSERT_EQ(lines.size(), 3U);
  for (const std::string& line : lines)
    EXPECT_THAT(test::fields_of(line), SizeIs(test::fields_of(lines[0]).size()));
  EXPECT_THAT(lines[2], testing::StartsWith("tip,15.000,85.000,18.00000,"));
  const std::string text = side_text(result, {});
  EXPECT_THAT(text, AllOf(HasSubstr("over x = 6 to 88 mm"), HasSubstr("from the plunge line"),
                          HasSubstr("not seen"), HasSubstr("from the tip, x = 85")));
  for (const std::string& line : test::lines_of(text)) EXPECT_LE(line.size(), 100U) << line;
  const std::string page = page_of(DrawnFaces{}, result, {});
  EXPECT_THAT(page,
              AllOf(HasSubstr("Bevel height where it was asked for"), HasSubstr("<td>tip</td>")));
}

TEST(SideReportClosedForm, WithoutPlacesThereIsNoWordOfThem) {
  const SideResult result = test::result_of(DrawnFaces{});
  EXPECT_FALSE(report_of(result).contains("bevel_height_at"));
  EXPECT_EQ(places_csv(statement_of(result)), "");
  EXPECT_THAT(page_of(DrawnFaces{}, result, {}), Not(HasSubstr("asked for")));
}

TEST(SideReportClosedForm, ThePageSaysWhetherThePrintWasMeasured) {
  static const test::FacePhotos photos{DrawnFaces{}};
  SideSettings with = test::side_settings();
  const auto page = [&] {
    return statement_page(side_statement(test::result_of(DrawnFaces{}), with, photos.given(), {}),
                          {});
  };
  with.print.measured = false;
  EXPECT_THAT(page(), HasSubstr(", print scale assumed</td>"));
  with.print.measured = true;
  EXPECT_THAT(page(), HasSubstr(", print scale measured</td>"));
}

// The land that was measured, or the wanted one: JSON with a name twice is nobody's.
TEST(SideReportClosedForm, TheLandStandsThereOnce) {
  static const test::FacePhotos photos{DrawnFaces{}};
  SideSettings with = test::side_settings();
  with.land_mm = 0.32;
  const std::string json = statement_json(side_statement(test::result_of(DrawnFaces{}), with,
                                                         photos.given(), {.wanted_land_mm = 0.30}));
  EXPECT_EQ(count_of(json, "\"land\":"), 1U);
  EXPECT_EQ(Json::parse(json)["settings"]["land"], 0.32);
}

// ISO 14253-1: within or outside only when the whole interval is.
TEST(SideVerdictClosedForm, TheWholeIntervalOfBothDecides) {
  const auto verdict = [](double difference_mm, double mismatch_mm) {
    const SideResult result =
        test::result_of(DrawnFaces{.bevel_right_mm = 18.0 - difference_mm,
                                   .plunge_left_mm = 0.5 * mismatch_mm,
                                   .plunge_right_mm = -0.5 * mismatch_mm});  // U95 0.059 and 0.098
    return side_verdict(result, {.tolerance_mm = 0.2});
  };
  EXPECT_EQ(verdict(0.10, 0.05), Verdict::within);
  EXPECT_EQ(verdict(-0.10, -0.05), Verdict::within);
  EXPECT_EQ(verdict(0.18, 0.05), Verdict::unresolved);
  EXPECT_EQ(verdict(0.10, 0.15), Verdict::unresolved);
  EXPECT_EQ(verdict(0.30, 0.05), Verdict::outside);
  EXPECT_EQ(verdict(0.10, -0.35), Verdict::outside);
  EXPECT_EQ(side_verdict(test::result_of(DrawnFaces{}), {}), Verdict::none);
}

TEST(SideVerdictClosedForm, WhatWasNotSeenIsNotWithin) {
  SideResult result = test::result_of(
      DrawnFaces{.bevel_right_mm = 18.0, .plunge_left_mm = 0.0, .plunge_right_mm = 0.0});
  ASSERT_EQ(side_verdict(result, {.tolerance_mm = 0.2}), Verdict::within);
  result.faces[1].bevel_coverage = 0.7;
  EXPECT_EQ(side_verdict(result, {.tolerance_mm = 0.2}), Verdict::unresolved);
  result.faces[1].bevel_coverage = 0.9;
  result.plunge_mismatch_mm.reset();
  EXPECT_EQ(side_verdict(result, {.tolerance_mm = 0.2}), Verdict::unresolved);
  EXPECT_EQ(side_verdict(test::result_of(DrawnFaces{.both = false}), {.tolerance_mm = 0.2}),
            Verdict::unresolved);
}

TEST(SideTextClosedForm, FitsAGlance) {
  for (const bool both : {true, false}) {
    for (const LengthUnit unit : {LengthUnit::mm, LengthUnit::inch}) {
      const std::string text =
          side_text(test::result_of(DrawnFaces{.both = both}), {.unit = unit, .tolerance_mm = 0.2});
      const std::vector<std::string> lines = test::lines_of(text);
      EXPECT_LE(lines.size(), 18U) << text;
      for (const std::string& line : lines) EXPECT_LE(line.size(), 100U) << line;
      EXPECT_THAT(text, AllOf(HasSubstr("verdict: "), HasSubstr("do: ")));
      if (unit == LengthUnit::inch) {
        EXPECT_THAT(text, Not(HasSubstr(" mm")));
      }
    }
  }
}

TEST(SideAdviceClosedForm, SaysWhichFaceStillHasSteelToLose) {
  const auto first = [](double difference_mm, std::optional<double> tolerance_mm) {
    return sentence(side_advice(test::result_of(DrawnFaces{.bevel_right_mm = 18.0 - difference_mm}),
                                tolerance_mm)
                        .front(),
                    LengthUnit::mm);
  };
  EXPECT_THAT(first(0.4, {}), AllOf(HasSubstr("Grind the right face along the whole bevel"),
                                    HasSubstr("has still to come up by 0.400 mm (U95 0.059 mm")));
  EXPECT_THAT(first(-0.4, {}), HasSubstr("Grind the left face"));
  EXPECT_THAT(first(0.4, 0.5), HasSubstr("Leave the bevel lines"));
}

// The left line is higher up to x = 30, the right one from x = 60; in between nobody can tell.
SideResult crossing() {
  SideResult result = test::result_of(DrawnFaces{.unseen = {}});
  for (SideStation& station : result.stations) {
    if (!station.bevel_height_difference_mm) continue;
    double& value = station.bevel_height_difference_mm->value;
    value = station.x_mm <= 30.0 ? 0.2 : station.x_mm < 60.0 ? 0.05 : -0.5;
  }
  return result;
}

TEST(SideAdviceClosedForm, EachFaceIsToldWhereThatWithMoreToLoseFirst) {
  const std::vector<std::string> advice = sentences(side_advice(crossing(), {}), LengthUnit::mm);
  EXPECT_THAT(advice[0], HasSubstr("Grind the left face from x = 60 to 98 mm: its bevel line has "
                                   "still to come up by 0.500 mm"));
  EXPECT_THAT(advice[1], HasSubstr("Grind the right face from x = 1 to 30 mm"));
  EXPECT_THAT(sentences(side_advice(crossing(), 0.3), LengthUnit::inch)[1],
              Not(HasSubstr("right face from")))
      << "0.2 mm is allowed";
  EXPECT_THAT(sentences(side_advice(crossing(), {}), LengthUnit::inch)[0],
              AllOf(HasSubstr("from x = 2.36 to 3.86 in"), HasSubstr("0.0197 in")));
}

TEST(SideJsonClosedForm, ZonesSayWhereAFaceHasSteelToLose) {
  const Json zones = report_of(crossing())["zones"];
  ASSERT_EQ(zones.size(), 2U);
  EXPECT_EQ(zones[0]["grind"], "right");
  EXPECT_EQ(zones[0]["from"], 1.0);
  EXPECT_EQ(zones[0]["to"], 30.0);
  EXPECT_DOUBLE_EQ(zones[0]["come_up_most"]["value"], 0.2);
  EXPECT_EQ(zones[1]["grind"], "left");
  EXPECT_DOUBLE_EQ(zones[1]["come_up_least"]["value"], 0.5);
  EXPECT_TRUE(report_of(test::result_of(DrawnFaces{.bevel_right_mm = 17.96}))["zones"].empty());
}

TEST(SideAdviceClosedForm, NeverFromAnUnresolvedNumber) {
  SideResult result = test::result_of(
      DrawnFaces{.bevel_right_mm = 17.96, .plunge_left_mm = 0.03, .plunge_right_mm = -0.03});
  result.plunge_angle_difference_rad->u = radians(2.0);
  for (const std::string& sentence : sentences(side_advice(result, {}), LengthUnit::mm)) {
    EXPECT_THAT(sentence, AllOf(Not(HasSubstr("Grind")), Not(HasSubstr("bring it back")),
                                Not(HasSubstr("leans"))));
  }
  result.bevel_height_difference_worst_mm.reset();
  EXPECT_THAT(sentences(side_advice(result, {}), LengthUnit::mm).front(),
              HasSubstr("grind nothing"));
  EXPECT_THAT(
      sentences(side_advice(test::result_of(DrawnFaces{.both = false}), {}), LengthUnit::mm),
      testing::ElementsAre(HasSubstr("--right")));
}

TEST(SideHtmlClosedForm, HoldsBothUnitsAndTheCharts) {
  const DrawnFaces blade{};
  const std::string page = page_of(blade, test::result_of(blade), {.tolerance_mm = 0.2});
  EXPECT_THAT(page,
              AllOf(HasSubstr("<span class=\"mm\">+0.400 mm</span>"),
                    HasSubstr("<span class=\"in\">+0.0157 in</span>"),  // 0.4 / 25.4
                    HasSubstr("0.400 mm LEFT BEVEL LINE HIGHER, limit 0.200"),
                    HasSubstr("Where to grind"), HasSubstr("Plunge lines"), HasSubstr("Cautions"),
                    HasSubstr("left &lt;one&gt;"), Not(HasSubstr("<one>"))));
  EXPECT_EQ(count_of(page, "class=\"chart\""), 2U);
  EXPECT_EQ(count_of(page, "class=\"slot\""), 2U * 121U);
  EXPECT_EQ(count_of(page, "<line class=\"tolerance\""), 2U);
  const std::string one = page_of({.both = false}, test::result_of(DrawnFaces{.both = false}), {});
  EXPECT_EQ(count_of(one, "class=\"chart\""), 1U);  // no difference to draw
  EXPECT_THAT(page_of(blade, SideResult{}, {.tolerance_mm = 0.2}),
              AllOf(HasSubstr("</html>"), HasSubstr("NOT RESOLVED"), Not(HasSubstr("nan"))));
}

}  // namespace
}  // namespace evenbevel
