#include <algorithm>
#include <sstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "fixture.hpp"

namespace evenbevel {
namespace {

using test::DrawnBlade;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream stream(text);
  for (std::string line; std::getline(stream, line);) lines.push_back(line);
  return lines;
}

std::string edge_text(const EdgeResult& result, const ReportSettings& settings) {
  return statement_text(edge_statement(result, test::settings_of({}), test::photo_of({}),
                                       test::camera_of({}), settings),
                        settings.unit);
}

std::string text_of(const DrawnBlade& blade, const ReportSettings& settings) {
  return edge_text(test::result_of(blade), settings);
}

TEST(EdgeTextClosedForm, ValuesStandToThePlaceOfTheirUncertainty) {
  // u 0.0041, dof 231: U95 0.0079 to 0.0081; two significant digits end at the third decimal.
  EXPECT_THAT(text_of({}, {}), AllOf(HasSubstr("+0.040 mm"), HasSubstr("U95 0.008 mm")));
  EdgeResult result = test::result_of({});
  result.centreline_offset_mm = Measured{0.0437, 0.1};  // U95 0.196: two digits, 0.20
  EXPECT_THAT(edge_text(result, {}), AllOf(HasSubstr("+0.04 mm"), HasSubstr("U95 0.20 mm")));
}

TEST(EdgeTextClosedForm, InchesHaveFourDecimals) {
  const std::string text =
      text_of({.offset_mm = 0.0508, .offset_end_mm = 0.0508}, {.unit = LengthUnit::inch});
  EXPECT_THAT(text, AllOf(HasSubstr("+0.0020 in"), HasSubstr("U95 0.0003 in")));
  EXPECT_THAT(text, Not(HasSubstr(" mm")));
}

TEST(EdgeTextClosedForm, NoSentenceSpeaksMillimetresWhenInchesAreAsked) {
  EdgeResult result = test::result_of({});
  result.advice = {remark<RemarkCode::photo_left_out>(length_words(12.0, 0) + " aside")};
  result.warnings = {remark<RemarkCode::card_bent>(30.5)};
  const std::string text = edge_text(result, {.unit = LengthUnit::inch, .tolerance_mm = 0.05});
  EXPECT_THAT(text, AllOf(HasSubstr("0.47 in aside"), HasSubstr("bent by 1.201 in")));
  EXPECT_THAT(text, Not(HasSubstr(" mm")));
}

TEST(EdgeTextClosedForm, AnUncertaintyIsNeverPrintedAsNothing) {
  EdgeResult result = test::result_of({});
  result.centreline_offset_mm = Measured{0.04, 0.00001};
  EXPECT_THAT(edge_text(result, {}), HasSubstr("U95 0.001 mm"));
}

TEST(EdgeTextClosedForm, FitsAGlance) {
  for (const Stage stage : {Stage::scribed, Stage::ground, Stage::bevelled}) {
    const auto lines = lines_of(text_of({.stage = stage, .offset_mm = 0.09, .offset_end_mm = -0.05},
                                        {.tolerance_mm = 0.05, .wanted_land_mm = 0.25}));
    EXPECT_LE(lines.size(), 16U);
    for (const std::string& line : lines) EXPECT_LE(line.size(), 100U) << line;
  }
}

TEST(EdgeTextClosedForm, SaysWhoseLeftAndRight) {
  EXPECT_THAT(text_of({}, {}),
              HasSubstr("left and right are the knife's: edge down, tip away from you"));
}

TEST(EdgeTextClosedForm, CarriesVerdictAdvicePhotoAndWarning) {
  const std::string text = text_of({}, {.tolerance_mm = 0.02});
  EXPECT_THAT(text, AllOf(HasSubstr("verdict: outside 0.020 mm"), HasSubstr("do: "),
                          HasSubstr("photo: Move the camera"), HasSubstr("warning: The photo")));
}

TEST(EdgeTextClosedForm, TheTwoGravestWarningsAreShownAndTheRestCounted) {
  EdgeResult result = test::result_of({});
  result.warnings = {remark<RemarkCode::as_written>("First."),
                     remark<RemarkCode::as_written>("Second."),
                     remark<RemarkCode::as_written>("Third.")};
  const std::string text = edge_text(result, {});
  EXPECT_THAT(text, AllOf(HasSubstr("warning: First.\n"),
                          HasSubstr("warning: Second. (and 1 more in the report)")));
  EXPECT_EQ(text.find("Third"), std::string::npos);
}

TEST(EdgeTextClosedForm, AnUnresolvedVerdictSaysWhy) {
  EXPECT_THAT(text_of({}, {.tolerance_mm = 0.041}),
              AllOf(HasSubstr("not resolved by this photo"), HasSubstr("both sides of 0.041 mm")));
}

TEST(EdgeTextClosedForm, AQuickLookSaysSoFirst) {
  EdgeResult result = test::result_of({});
  EXPECT_EQ(edge_text(result, {}).find("no card"), std::string::npos);
  result.pose.reset();
  EXPECT_TRUE(edge_text(result, {}).starts_with("edge view, quick look, no card"));
}

TEST(EdgeTextBadInput, WhatWasNotSeenHasNoLine) {
  EdgeResult result = test::result_of({});
  result.line_gap_mm.reset();
  result.centreline_offset_mm.reset();
  const std::string text = edge_text(result, {});
  EXPECT_THAT(text, AllOf(Not(HasSubstr("gap")), Not(HasSubstr("mean")), Not(HasSubstr("nan"))));
}

std::string csv_of(const DrawnBlade& blade) {
  return stations_csv(edge_statement(test::result_of(blade), test::settings_of(blade),
                                     test::photo_of(blade), test::camera_of(blade), {}));
}

std::size_t columns(const std::string& line) {
  return static_cast<std::size_t>(std::count(line.begin(), line.end(), ',')) + 1;
}

TEST(EdgeCsvClosedForm, EveryRowKeepsItsColumns) {
  const auto lines = lines_of(csv_of({.stage = Stage::ground}));
  ASSERT_EQ(lines.size(), 62U);  // a header and 61 stations
  for (const std::string& line : lines) EXPECT_EQ(columns(line), columns(lines[0])) << line;
}

TEST(EdgeCsvClosedForm, ColumnsCarryTheNamesOfTheDesignAndTheirUnits) {
  const std::string header = lines_of(csv_of({})).front();
  EXPECT_THAT(header, testing::StartsWith("x_mm,px_x,px_y,centreline_offset_mm,"
                                          "centreline_offset_u_mm,centreline_offset_U95_mm,"));
  for (const char* name : {"thickness_mm", "line_gap_mm", "land_width_mm", "facet_width_left_mm",
                           "facet_width_right_mm", "residual_px"}) {
    EXPECT_THAT(header, HasSubstr(name));
  }
}

TEST(EdgeCsvClosedForm, AStationWithoutValuesIsEmptyNotZero) {
  const auto lines = lines_of(csv_of({}));
  EXPECT_EQ(lines[1 + 21], "21.000" + std::string(columns(lines[0]) - 1, ','));
}

TEST(EdgeCsvClosedForm, ColumnsAreTheSameAtEveryStage) {
  EXPECT_EQ(lines_of(csv_of({.stage = Stage::scribed})).front(),
            lines_of(csv_of({.stage = Stage::bevelled})).front());
}

}  // namespace
}  // namespace evenbevel
