// `evenbevel side` as a maker runs it: what it writes, and what it refuses with the reason, the
// remedy, exit code 3 and the output folder as it was.

#include <sstream>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>
#include <opencv2/core.hpp>

#include "command_run.hpp"
#include "evenbevel/photo.hpp"
#include "sources.hpp"

namespace evenbevel::test {
namespace {

namespace fs = std::filesystem;
using testing::AllOf;
using testing::AnyOf;
using testing::ContainsRegex;
using testing::HasSubstr;
using testing::Not;

const std::string kLeft = kSamples + "side-clean-left.jpg";
const std::string kRight = kSamples + "side-clean-right.jpg";
const std::string kThickness = " --thickness 3mm";

std::string faces(const std::string& left, const std::string& right) {
  return "--left " + left + " --right " + right;
}

class SideRun : public testing::Test {
 protected:
  std::string small_picture(const std::string& name) const {
    return run.picture(name, cv::Mat(480, 640, CV_8UC3, cv::Scalar(120, 125, 130)));
  }
  CommandRun run{"side"};
};

using SideCommandPhotos = SideRun;
using SideCommandBadInput = SideRun;

nlohmann::json json_of(const fs::path& path) { return nlohmann::json::parse(file_text(path)); }

TEST_F(SideCommandPhotos, BothFacesGiveAWholeReport) {
  const ProgramRun program =
      run.run(faces(kLeft, kRight) + kThickness + kCamera + " --land 0.28mm --units in");
  ASSERT_EQ(program.exit_code, 0) << program.output;
  EXPECT_THAT(program.output, AllOf(HasSubstr("side view, both faces"), HasSubstr("do: "),
                                    HasSubstr("plunge mismatch"), Not(HasSubstr(" mm "))));
  std::istringstream lines(program.output);
  for (std::string line; std::getline(lines, line);) {
    const bool path = line.starts_with("picture") || line.starts_with("report");
    EXPECT_TRUE(path || line.size() <= 100U) << line;
  }
  EXPECT_EQ(files_of(run.out()).size(), 4U);
  const nlohmann::json report = json_of(run.out() / "report.json");
  EXPECT_EQ(report.at("view"), "side");
  EXPECT_EQ(report.at("verdict"), "none");
  EXPECT_EQ(report.at("settings").at("thickness"), 3.0);
  EXPECT_TRUE(report.at("quantities").contains("bevel_height_difference"));
  EXPECT_GT(report.at("stations").size(), 100U);
}

// The guessed lens trebles these intervals: that comes before the printed bar.
TEST_F(SideCommandPhotos, AMissingCameraFileIsTheFirstAdviceOnThePhoto) {
  const std::string left = "--left " + kLeft + kThickness;
  EXPECT_THAT(run.run(left).output, HasSubstr("\nphoto: Calibrate the camera once"));
  EXPECT_THAT(run.run(left + kCamera).output, HasSubstr("\nphoto: Measure the 200 mm bar"));
}

TEST_F(SideCommandPhotos, HeightsAreGivenWhereTheyAreAskedFor) {
  const std::string left = "--left " + kLeft + kThickness + kCamera;
  const ProgramRun program = run.run(left + " --at 20mm,60mm --at-from-tip 15mm");
  ASSERT_EQ(program.exit_code, 0) << program.output;
  EXPECT_THAT(program.output, AllOf(HasSubstr("from the plunge line"), HasSubstr("from the tip")));
  EXPECT_EQ(files_of(run.out()).size(), 5U);  // with places.csv
  EXPECT_EQ(json_of(run.out() / "report.json").at("bevel_height_at").size(), 3U);
  ASSERT_EQ(run.run(left + " --mean-over 20mm,50mm").exit_code, 0);
  EXPECT_EQ(files_of(run.out()).size(), 4U);  // the other report's places are gone
  EXPECT_EQ(run.run(left + " --mean-over 50mm,20mm").exit_code, 2);
  EXPECT_EQ(run.run(left + " --at here").exit_code, 2);
}

TEST_F(SideCommandPhotos, ATightToleranceIsNotMet) {
  const ProgramRun program =
      run.run("--left " + kLeft + kThickness + kCamera + " --tolerance 0.001mm");
  EXPECT_EQ(program.exit_code, 1) << program.output;  // one face: not resolved
  EXPECT_THAT(program.output, AllOf(HasSubstr("left face only"), HasSubstr("not resolved")));
}

TEST_F(SideCommandPhotos, SwappedPhotosAreTold) {
  run.expect_refused(faces(kRight, kLeft) + kThickness + kCamera,
                     AllOf(HasSubstr("shows the right one"), HasSubstr("swap the photos")));
  run.expect_refused("--right " + kLeft + kThickness + kCamera, HasSubstr("shows the left one"));
}

TEST_F(SideCommandPhotos, TheSamePhotoTwiceIsTold) {
  run.expect_refused(faces(kLeft, kLeft) + kThickness + kCamera, HasSubstr("the same photo"));
}

TEST_F(SideCommandPhotos, TwoKnivesAreToldByHowMuchTheyDiffer) {
  run.expect_refused(faces(kSamples + "side-mismatch-left.jpg", kRight) + kThickness + kCamera,
                     AllOf(HasSubstr("do not fit"), ContainsRegex("[0-9.]+ mm apart"),
                           HasSubstr("two different knives")));
}

TEST_F(SideCommandPhotos, AnotherCardIsNamed) {
  run.expect_refused("--left " + kSamples + "edge-usb.jpg" + kThickness,
                     AllOf(HasSubstr("edge card"), HasSubstr("side card")));
  const CommandRun edge("edge");
  edge.expect_refused(kLeft + kThickness, AllOf(HasSubstr("edge card"), HasSubstr("side card")));
}

TEST_F(SideCommandPhotos, AnEdgeReportOfAnotherBladeIsNamed) {
  const std::string report =
      run.file("edge.json",
               R"({"schema": "evenbevel.report/1", "view": "edge", "settings": {"thickness": 3.4,
          "thickness_u": 0.005}, "quantities": {"land_width": {"value": 0.3, "u": 0.01, "U95": 0.02}}})");
  const std::string arguments = "--left " + kLeft + kCamera + " --edge-report " + report;
  run.expect_refused(arguments + kThickness,
                     AllOf(HasSubstr("3.400 mm"), HasSubstr("3.000 mm"), HasSubstr("--thickness")));
  run.expect_refused(
      arguments + kThickness + " --units in",
      AllOf(HasSubstr("0.1339 in"), HasSubstr("0.1181 in"), Not(HasSubstr("00 mm"))));
  run.expect_refused(arguments + " --land 0.4mm",
                     AllOf(HasSubstr("0.300 mm"), HasSubstr("0.400 mm"), HasSubstr("--land")));
  run.expect_refused("--left " + kLeft + " --edge-report " + run.file("cut.json", "{\"schema\":"),
                     HasSubstr("cut.json is not a report of evenbevel"));
  EXPECT_EQ(run.run(arguments).exit_code, 0);
  EXPECT_EQ(json_of(run.out() / "report.json").at("settings").at("land"), 0.3);
}

TEST_F(SideCommandBadInput, WhatIsNoPhotoIsNamed) {
  const std::string text = run.file("notes.jpg", "grind the left side");
  run.expect_refused("--left " + text + kThickness, AllOf(HasSubstr(text), HasSubstr("not an")));
  const std::string empty = run.file("empty.jpg", "");
  run.expect_refused("--right " + empty + kThickness,
                     AllOf(HasSubstr(empty), HasSubstr("zero bytes")));
  run.expect_refused("--left " + kSamples + kThickness, HasSubstr("is a folder"));
  const std::string none = (run / "none.jpg").string();
  run.expect_refused(faces(small_picture("left.png"), none) + kThickness,
                     AllOf(HasSubstr(none), HasSubstr("no such file")));
  run.expect_refused(faces(none, text) + kThickness, HasSubstr(none));  // the left one first
}

TEST_F(SideCommandBadInput, WithoutACardTheCountsAreSaid) {
  run.expect_refused("--left " + small_picture("bare.png") + kThickness,
                     AllOf(HasSubstr("bare.png"), HasSubstr("no side card"),
                           ContainsRegex("0 corners.*[0-9]+ .*needed")));
}

TEST_F(SideCommandBadInput, WrongUseIsTold) {
  const std::string photo = small_picture("any.png");
  for (const std::string& arguments :
       {kThickness, "--left " + photo, "--left " + photo + " --thickness 0mm",
        "--left " + photo + " --thickness thick", "--left " + photo + kThickness + " --step 0",
        "--left " + photo + kThickness + " --printed-bar 100mm",
        "--left " + photo + kThickness + " --units cm", "--front " + photo + kThickness}) {
    const ProgramRun program = run.run(arguments);
    EXPECT_EQ(program.exit_code, 2) << arguments << '\n' << program.output;
    run.expect_earlier_report();
  }
}

TEST_F(SideCommandPhotos, AnUnwritableFolderIsNamed) {
  const std::string file = run.file("taken", "kept");
  const ProgramRun program = run_program(std::string(PROGRAM) + " side --left " + kLeft +
                                         kThickness + kCamera + " -o " + file + "/out");
  EXPECT_EQ(program.exit_code, 3);
  EXPECT_THAT(program.output, AllOf(HasSubstr(file), HasSubstr("do: ")));
  EXPECT_EQ(file_text(file), "kept");
}

TEST_F(SideCommandBadInput, HelpSaysWhatToTypeNext) {
  const ProgramRun help = run_program(std::string(PROGRAM) + " side --help");
  EXPECT_EQ(help.exit_code, 0);
  EXPECT_THAT(help.output, AllOf(HasSubstr("--edge-report"), HasSubstr("Examples:"),
                                 HasSubstr("running belt"), HasSubstr("Exit code")));
}

}  // namespace
}  // namespace evenbevel::test
