// `evenbevel choil` as a maker runs it: what it writes, and what it refuses with the reason, the
// remedy, exit code 3 and the output folder as it was.

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

using testing::AllOf;
using testing::ContainsRegex;
using testing::ElementsAre;
using testing::HasSubstr;

const std::string kChoilPhoto = kSamples + "choil-symmetric.jpg";

class ChoilRun : public testing::Test {
 protected:
  CommandRun run{"choil"};
};

using ChoilCommandPhotos = ChoilRun;
using ChoilCommandBadInput = ChoilRun;

nlohmann::json report_of(const CommandRun& run) {
  return nlohmann::json::parse(file_text(run.out() / "report.json"));
}

TEST_F(ChoilCommandPhotos, TheDepthsAskedForAreAdded) {
  const ProgramRun program =
      run.run(kChoilPhoto + kCamera + " --at 3mm 0.0393700787in --angle-range 2mm 12mm");
  ASSERT_EQ(program.exit_code, 0) << program.output;
  EXPECT_THAT(program.output, AllOf(HasSubstr("thickness at 3 mm"), HasSubstr("do: ")));
  EXPECT_EQ(files_of(run.out()).size(), 4U);
  const nlohmann::json report = report_of(run);
  EXPECT_EQ(report.at("view"), "choil");
  // The design's depths and 3 mm; 0.0393700787 in is 1 mm, which is there already.
  EXPECT_THAT(report.at("settings").at("at"), ElementsAre(0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0));
  EXPECT_EQ(report.at("settings").at("angle_from"), 2.0);
  EXPECT_EQ(report.at("settings").at("angle_to"), 12.0);
  EXPECT_EQ(report.at("quantities").at("thickness_at").size(), 7U);
}

TEST_F(ChoilCommandPhotos, AMissingCameraFileIsTheFirstAdviceOnThePhoto) {
  const std::string photo = kSamples + "choil-hollow.jpg";
  EXPECT_THAT(run.run(photo).output, HasSubstr("\nphoto: Calibrate the camera once"));
  EXPECT_THAT(run.run(photo + kCamera).output, HasSubstr("\nphoto: Measure the 60 mm bar"));
}

TEST_F(ChoilCommandPhotos, ATightToleranceIsNotMet) {
  const ProgramRun program =
      run.run(kChoilPhoto + kCamera + " --tolerance 0.00001in --units in --printed-bar 2.3622");
  EXPECT_EQ(program.exit_code, 1) << program.output;
  EXPECT_THAT(program.output, testing::Not(HasSubstr(" mm ")));
  EXPECT_NEAR(report_of(run).at("card").at("print_scale_along"), 1.0, 1e-5);  // 60 mm in inches
}

TEST_F(ChoilCommandPhotos, AnotherCardIsNamed) {
  run.expect_refused(kSamples + "edge-usb.jpg", AllOf(HasSubstr("edge card"), HasSubstr("heel")));
}

TEST_F(ChoilCommandBadInput, WhatIsNoPhotoIsNamed) {
  const std::string text = run.file("notes.jpg", "grind the left side");
  run.expect_refused(text, AllOf(HasSubstr(text), HasSubstr("not an image")));
  const std::string empty = run.file("empty.jpg", "");
  run.expect_refused(empty, AllOf(HasSubstr(empty), HasSubstr("zero bytes")));
  run.expect_refused(kSamples, HasSubstr("is a folder"));
  const std::string none = (run / "none.jpg").string();
  run.expect_refused(none, AllOf(HasSubstr(none), HasSubstr("no such file")));
}

TEST_F(ChoilCommandBadInput, WithoutACardTheCountsAreSaid) {
  const std::string bare =
      run.picture("bare.png", cv::Mat(480, 640, CV_8UC3, cv::Scalar(120, 125, 130)));
  run.expect_refused(bare,
                     AllOf(HasSubstr("no heel card"), ContainsRegex("0 corners.*[0-9]+ .*needed")));
}

TEST_F(ChoilCommandBadInput, WrongUseIsTold) {
  const std::string photo = run.file("any.jpg", "");
  for (const std::string& arguments :
       {std::string(), photo + " --at 0mm", photo + " --at deep", photo + " --angle-range 1mm",
        photo + " --angle-range 5mm 2mm", photo + " --printed-bar 200mm",
        photo + " --thickness -2mm", photo + " " + photo, photo + " --stage ground"}) {
    const ProgramRun program = run.run(arguments);
    EXPECT_EQ(program.exit_code, 2) << arguments << '\n' << program.output;
    run.expect_earlier_report();
  }
}

TEST_F(ChoilCommandPhotos, AnUnwritableFolderIsNamed) {
  const std::string file = run.file("taken", "kept");
  const ProgramRun program = run_program(std::string(PROGRAM) + " choil " + kChoilPhoto + kCamera +
                                         " -o " + file + "/out");
  EXPECT_EQ(program.exit_code, 3);
  EXPECT_THAT(program.output, AllOf(HasSubstr(file), HasSubstr("do: ")));
  EXPECT_EQ(file_text(file), "kept");
}

}  // namespace
}  // namespace evenbevel::test
