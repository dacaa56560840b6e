// The practice strip's finding: the chain holds, or what is wrong with it, in the largest words;
// and the report that carries it.

#include "evenbevel/practice_report.hpp"

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/statement.hpp"

namespace evenbevel {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

/// Two numbers that hold; what a test makes wrong, it changes.
PracticeResult sound_strip() {
  PracticeResult result;
  result.as_blade.pose = CardPose{};
  result.as_blade.blur_px = 0.9;
  result.as_blade.scale_px_per_mm = 12.0;
  result.bend_mm = 0.05;
  result.bend_u_mm = 0.1;
  result.checks = {{PracticeCheckKind::offset_handle, 0.1, combine(0.103, {{"light", 0.005}})},
                   {PracticeCheckKind::rim_distance, 3.2, combine(3.19, {{"light", 0.02}})}};
  for (int k = 0; k < 5; ++k) {
    EdgeStation station;
    station.x_mm = -100.0 + k;
    station.px = {100.0 + 12.0 * k, 50.0};
    station.centreline_offset_mm = Measured{0.1, 0.005};
    result.as_blade.stations.push_back(station);
  }
  result.stations = result.stations_inside = 5;
  return result;
}

Statement statement_of_strip(const PracticeResult& result, bool bar_measured = true) {
  Photo photo;
  photo.name = "page.jpg";
  photo.pixels = cv::Mat(60, 200, CV_8UC3, cv::Scalar::all(128));
  return practice_statement(result, {.print = {.measured = bar_measured}}, photo, CameraModel{},
                            {});
}

std::string headline_of(const PracticeResult& result) {
  return statement_of_strip(result).glance.headline.mm;
}

std::string said_first(const PracticeResult& result) {
  return sentence(statement_of_strip(result).advice.front(), LengthUnit::mm);
}

TEST(PracticeReportClosedForm, ASoundChainHolds) {
  const Statement statement = statement_of_strip(sound_strip());
  EXPECT_EQ(statement.glance.headline.mm, "THE CHAIN HOLDS: 2 of 2 numbers inside");
  EXPECT_EQ(statement.verdict, "within");
  EXPECT_EQ(statement.advice.size(), 1U);
  EXPECT_EQ(statement.advice.front().code, RemarkCode::practice_holds);
}

TEST(PracticeReportClosedForm, AnOffsetBeyondItsIntervalIsNamedWithItsSize) {
  PracticeResult result = sound_strip();
  result.checks[0].measured_mm.value = 0.13;
  EXPECT_EQ(practice_verdict(result), Verdict::outside);
  EXPECT_EQ(headline_of(result), "OFFSET READ 0.030 mm OFF (U95 0.010 mm)");
  EXPECT_THAT(said_first(result), AllOf(HasSubstr("0.030"), HasSubstr("calibrate the camera")));
}

TEST(PracticeReportClosedForm, RimsThatStandApartAreCalledNarrowerOrWider) {
  PracticeResult result = sound_strip();
  result.checks[1].measured_mm.value = 3.12;
  EXPECT_THAT(headline_of(result), HasSubstr("RIM TO RIM READ"));
  EXPECT_THAT(said_first(result), AllOf(HasSubstr("narrower than printed"), HasSubstr("Ink")));
  result.checks[1].measured_mm.value = 3.28;
  EXPECT_THAT(said_first(result), HasSubstr("wider than printed"));
}

TEST(PracticeReportClosedForm, PaperPrintAndFocusComeBeforeTheNumbers) {
  PracticeResult result = sound_strip();
  result.checks[0].measured_mm.value = 0.13;
  result.checks.push_back({PracticeCheckKind::printed_bar, 200.0, {194.0, 0.1}});
  result.print_off_percent = -3.0;
  result.bend_mm = 0.6;
  result.as_blade.blur_px = 2.4;
  EXPECT_THAT(headline_of(result),
              testing::StartsWith("PRINTED 3.0 % SMALL; PAPER BENT BY 0.6 mm; PHOTO SOFT; OFFSET"));
  EXPECT_THAT(said_first(result), HasSubstr("194.0 mm"));
}

TEST(PracticeReportClosedForm, ASoftPhotoDoesNotHold) {
  PracticeResult result = sound_strip();
  result.as_blade.blur_px = 2.4;
  EXPECT_FALSE(result.holds());
  EXPECT_EQ(headline_of(result), "PHOTO SOFT");
}

TEST(PracticeReportProperty, ABendWithinItsOwnUncertaintyIsNone) {
  PracticeResult result = sound_strip();
  result.bend_mm = 0.4;
  result.bend_u_mm = 0.25;
  EXPECT_TRUE(result.holds());
  result.bend_u_mm = 0.15;
  EXPECT_FALSE(result.holds());
}

TEST(PracticeReportProperty, WithoutTheBarItIsAskedFor) {
  const auto said = [](const Statement& statement) {
    std::string all;
    for (const Remark& advice : statement.advice) all += sentence(advice, LengthUnit::mm);
    return all;
  };
  EXPECT_THAT(said(statement_of_strip(sound_strip(), false)), HasSubstr("--printed-bar"));
  EXPECT_THAT(said(statement_of_strip(sound_strip(), true)), Not(HasSubstr("--printed-bar")));
}

TEST(PracticeReportProperty, AReportReadBackMakesTheSamePage) {
  const Statement statement = statement_of_strip(sound_strip());
  const PagePicture picture{"The strip.", {1, 2, 3}};
  const Statement back = read_statement(statement_json(statement));
  EXPECT_EQ(statement_page(back, picture), statement_page(statement, picture));
}

}  // namespace
}  // namespace evenbevel
