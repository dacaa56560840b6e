#include <algorithm>
#include <filesystem>
#include <fstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "fixture.hpp"

namespace evenbevel {
namespace {

using Json = nlohmann::ordered_json;
using test::DrawnBlade;

const ReportSettings kSettings{.unit = LengthUnit::inch,  // must not matter
                               .tolerance_mm = 0.05,
                               .wanted_land_mm = 0.262,
                               .command_line = "evenbevel edge blade.jpg --units in"};

std::string json_of(const EdgeResult& result, const DrawnBlade& blade = {}) {
  return statement_json(edge_statement(result, test::settings_of(blade), test::photo_of(blade),
                                       test::camera_of(blade), kSettings));
}
Json report_of(const DrawnBlade& blade, const EdgeResult& result) {
  return Json::parse(json_of(result, blade));
}
Json report_of(const DrawnBlade& blade) { return report_of(blade, test::result_of(blade)); }

std::vector<std::string> keys(const Json& json) {
  std::vector<std::string> names;
  for (const auto& [key, value] : json.items()) names.push_back(key);
  return names;
}

bool has_null(const Json& json) {
  if (json.is_null()) return true;
  return json.is_structured() && std::any_of(json.begin(), json.end(), has_null);
}

// Names: the design's table of quantities for the edge view.
TEST(EdgeJsonClosedForm, QuantitiesCarryTheNamesOfTheDesign) {
  EXPECT_THAT(
      keys(report_of({.stage = Stage::ground})["quantities"]),
      testing::ElementsAre("centreline_offset", "centreline_offset_worst", "symmetry", "thickness",
                           "land_width", "facet_width_left", "facet_width_right",
                           "facet_width_difference", "facet_angle_left", "facet_angle_right",
                           "plunge_left", "plunge_right", "plunge_mismatch"));
  EXPECT_THAT(keys(report_of({.stage = Stage::scribed})["quantities"]),
              testing::ElementsAre("centreline_offset", "centreline_offset_worst", "symmetry",
                                   "thickness", "line_gap"));
}

TEST(EdgeJsonClosedForm, TopLevelHoldsWhatTheDesignNames) {
  const Json json = report_of({});
  for (const char* key : {"schema", "view", "verdict", "quantities", "stations", "budget", "advice",
                          "warnings", "input", "camera", "card", "settings"}) {
    EXPECT_TRUE(json.contains(key)) << key;
  }
  EXPECT_EQ(json["schema"], "evenbevel.report/2");
  EXPECT_EQ(json["view"], "edge");
  EXPECT_EQ(json["verdict"], "within");  // 0.040 with U95 0.008 against 0.050
}

TEST(EdgeJsonClosedForm, LengthsAreMillimetresWhateverTheDisplay) {
  const Json json = report_of({.offset_mm = 0.04, .offset_end_mm = 0.04});
  EXPECT_DOUBLE_EQ(json["quantities"]["centreline_offset"]["value"], 0.04);
  EXPECT_DOUBLE_EQ(json["quantities"]["thickness"]["value"], 3.302);
  EXPECT_DOUBLE_EQ(json["settings"]["tolerance"], 0.05);
  EXPECT_DOUBLE_EQ(json["settings"]["thickness"], 3.302);
}

TEST(EdgeJsonClosedForm, AnglesAreDegrees) {
  const Json json = report_of({.stage = Stage::ground});
  EXPECT_DOUBLE_EQ(json["quantities"]["facet_angle_left"]["value"], 44.0);
  EXPECT_DOUBLE_EQ(json["quantities"]["facet_angle_left"]["u"], 0.5);
  EXPECT_DOUBLE_EQ(json["settings"]["facet_angle"], 45.0);
  EXPECT_EQ(json["budget"].back()["quantity"], "facet_angle_left");
  EXPECT_DOUBLE_EQ(json["budget"].back()["u"], 0.5);
}

// JCGM 100:2008 table G.2: t for infinite dof, 95 %: 1.960.
TEST(EdgeJsonClosedForm, ExpandedUncertaintyIsTheStandardOneTimesItsFactor) {
  const Json thickness = report_of({})["quantities"]["thickness"];
  EXPECT_DOUBLE_EQ(thickness["u"], 0.006);
  EXPECT_NEAR(thickness["U95"], 1.960 * 0.006, 0.5e-5);  // half of the JSON's last place
}

TEST(EdgeJsonClosedForm, StationsCarryTheirPlaceInThePhoto) {
  const DrawnBlade blade{.stage = Stage::ground};
  const Json station = report_of(blade)["stations"][12];
  EXPECT_DOUBLE_EQ(station["x"], 12.0);
  const Eigen::Vector2d expected = test::pixel_of(blade, 12.0, blade.offset_mm);
  EXPECT_NEAR(station["px"][0], expected.x(), 0.0005);  // half of the last place
  EXPECT_NEAR(station["px"][1], expected.y(), 0.0005);
  for (const char* key :
       {"centreline_offset", "thickness", "land_width", "facet_width_left", "facet_width_right"}) {
    for (const char* part : {"value", "u", "U95"}) EXPECT_TRUE(station[key].contains(part)) << key;
  }
  EXPECT_FALSE(station.contains("line_gap"));
}

TEST(EdgeJsonClosedForm, WhatWasNotSeenHasNoKey) {
  const DrawnBlade blade{};
  const Json json = report_of(blade);
  ASSERT_EQ(json["stations"].size(), 61U);
  EXPECT_THAT(keys(json["stations"][21]), testing::ElementsAre("x"));
  EXPECT_FALSE(json["quantities"].contains("plunge_mismatch"));
  EXPECT_FALSE(json["settings"].contains("edge_height"));
  EXPECT_FALSE(has_null(json));
}

TEST(EdgeJsonClosedForm, NumbersAreRound) {
  DrawnBlade blade;
  blade.offset_mm = blade.offset_end_mm = 0.1 + 0.2;  // 0.30000000000000004
  EdgeResult result = test::result_of(blade);
  result.centreline_offset_mm->value = 0.1 + 0.2;
  const std::string text = json_of(result, blade);
  EXPECT_THAT(text, testing::HasSubstr("\"value\": 0.3,"));
  EXPECT_THAT(text, testing::Not(testing::ContainsRegex("[0-9]\\.[0-9]{9}")));
}

TEST(EdgeJsonClosedForm, TheOrderOfKeysIsTheSameEachTime) {
  const DrawnBlade blade{.stage = Stage::ground};
  const auto text = [&] { return json_of(test::result_of(blade), blade); };
  EXPECT_EQ(text(), text());
  EXPECT_EQ(keys(report_of(blade)).front(), "schema");
}

TEST(EdgeJsonClosedForm, SaysWhereItCameFrom) {
  const DrawnBlade blade{};
  const Json json = report_of(blade);
  EXPECT_EQ(json["program"]["command_line"], kSettings.command_line);
  EXPECT_TRUE(json["program"].contains("version"));
  EXPECT_EQ(json["input"]["photo"], test::photo_of(blade).name);
  EXPECT_EQ(json["input"]["width_px"], 1200);
  EXPECT_EQ(json["card"]["kind"], "edge");
  EXPECT_EQ(json["card"]["corners_used"], 120);
}

// FIPS 180-4's own example: SHA-256 of "abc" (published with the standard's example values).
TEST(EdgeJsonOutside, TheCameraFileIsNamedWithItsHash) {
  const auto path = std::filesystem::path(testing::TempDir()) / "abc_camera.yml";
  std::ofstream(path, std::ios::binary) << "abc";
  CameraModel camera = test::camera_of({});
  camera.file = path.string();
  const Json json = Json::parse(statement_json(edge_statement(
      test::result_of({}), test::settings_of({}), test::photo_of({}), camera, kSettings)));
  EXPECT_EQ(json["camera"]["file"], path.string());
  EXPECT_EQ(json["camera"]["sha256"],
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  std::filesystem::remove(path);
}

TEST(EdgeJsonBadInput, NotANumberCountsAsNotMeasured) {
  EdgeResult result = test::result_of({});
  result.symmetry_mm->value = std::numeric_limits<double>::quiet_NaN();
  result.thickness_mm->u = std::numeric_limits<double>::infinity();
  const Json json = report_of({}, result);
  EXPECT_FALSE(json["quantities"].contains("symmetry"));
  EXPECT_FALSE(json["quantities"].contains("thickness"));
  EXPECT_FALSE(has_null(json));
}

TEST(EdgeJsonBadInput, NamesThatAreNotUtf8DoNotStopTheReport) {
  Photo photo = test::photo_of({});
  photo.name = "blade\xff\xfe.jpg";
  const std::string text = statement_json(edge_statement(test::result_of({}), test::settings_of({}),
                                                         photo, test::camera_of({}), kSettings));
  EXPECT_TRUE(Json::accept(text));
}

TEST(EdgeJsonBadInput, AnEmptyResultIsStillAReport) {
  const Json json = report_of({}, EdgeResult{});
  EXPECT_TRUE(json["quantities"].empty());
  EXPECT_TRUE(json["stations"].empty());
  EXPECT_EQ(json["verdict"], "unresolved");
  EXPECT_FALSE(has_null(json));
}

}  // namespace
}  // namespace evenbevel
