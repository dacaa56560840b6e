// `evenbevel edge PHOTO --practice` as a maker runs it: the finding, the files, and what is
// refused.

#include <filesystem>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>
#include <opencv2/core.hpp>

#include "command_run.hpp"
#include "evenbevel/photo.hpp"

namespace evenbevel::test {
namespace {

using testing::AllOf;
using testing::HasSubstr;

const std::string kStripPhotos = SOURCE_FOLDER "/sample-images/practice-";
const std::string kStripCamera = " --camera-file " SOURCE_FOLDER "/calibration/sample-phone.yml";
const std::string kStripUsb = " --camera-file " SOURCE_FOLDER "/calibration/sample-usb.yml";

class PracticeRun : public testing::Test {
 protected:
  CommandRun run{"edge"};

  nlohmann::json report() const {
    return nlohmann::json::parse(file_text(run.out() / "report.json"));
  }
};

using PracticeCommandPhotos = PracticeRun;
using PracticeCommandBadInput = PracticeRun;

TEST_F(PracticeCommandPhotos, TheTrueOneHoldsAndSaysSo) {
  const ProgramRun program =
      run.run(kStripPhotos + "true.jpg --practice --printed-bar 200mm" + kStripCamera);
  EXPECT_EQ(program.exit_code, 0) << program.output;
  EXPECT_THAT(program.output,
              AllOf(HasSubstr("verdict: the chain holds: 7 of 7"), HasSubstr("first blade")));
  EXPECT_EQ(files_of(run.out()).size(), 4U);
  const nlohmann::json all = report();
  EXPECT_EQ(all.at("view"), "practice");
  EXPECT_EQ(all.at("verdict"), "within");
  ASSERT_EQ(all.at("checks").size(), 7U);
  for (const nlohmann::json& check : all.at("checks")) EXPECT_EQ(check.at("finding"), "inside");
  EXPECT_THAT(all.at("glance").at("headline").get<std::string>(), HasSubstr("THE CHAIN HOLDS"));
}

TEST_F(PracticeCommandPhotos, WithoutTheBarOnlyTheBendShowsAndTheBarIsAskedFor) {
  const ProgramRun program =
      run.run(kStripPhotos + "small-bent.jpg --practice --units in" + kStripCamera);
  EXPECT_EQ(program.exit_code, 1) << program.output;
  EXPECT_THAT(program.output, AllOf(HasSubstr("verdict: paper bent by"), HasSubstr("calipers"),
                                    testing::Not(HasSubstr(" mm "))));
  EXPECT_FALSE(report().at("quantities").contains("printed_bar"));
}

TEST_F(PracticeCommandPhotos, TheSmallAndBentOneSaysBoth) {
  const ProgramRun program =
      run.run(kStripPhotos + "small-bent.jpg --practice --printed-bar 198mm" + kStripCamera);
  EXPECT_EQ(program.exit_code, 1) << program.output;
  EXPECT_THAT(program.output,
              AllOf(HasSubstr("printed 1.0 % small; paper bent by"), HasSubstr("Print the page")));
  const nlohmann::json all = report();
  EXPECT_EQ(all.at("verdict"), "outside");
  EXPECT_EQ(all.at("advice").at(0).at("code"), "practice_print_size");
  EXPECT_EQ(all.at("advice").at(1).at("code"), "practice_paper_bent");
}

TEST_F(PracticeCommandBadInput, ARealBladeIsRefused) {
  run.expect_refused(SOURCE_FOLDER "/sample-images/edge-usb.jpg --practice" + kStripUsb,
                     HasSubstr("no practice strip is in the edge card's lane"));
}

TEST_F(PracticeCommandBadInput, AnotherCardIsRefused) {
  run.expect_refused(SOURCE_FOLDER "/sample-images/side-clean-left.jpg --practice" + kStripCamera,
                     HasSubstr("the card in the picture is the side card"));
}

TEST_F(PracticeCommandBadInput, ACoveredHalfIsRefused) {
  cv::Mat pixels = read_photo(kStripPhotos + "true.jpg").pixels.clone();
  pixels.colRange(pixels.cols / 2, pixels.cols).setTo(cv::Scalar(60, 70, 80));
  run.expect_refused(run.picture("half.png", pixels) + " --practice", HasSubstr("corners"));
}

TEST_F(PracticeCommandBadInput, WhatIsForBladesDoesNotGoWithIt) {
  const std::string photo = kStripPhotos + "true.jpg --practice ";
  for (const char* other : {"--thickness 3.2mm", "--turned x.jpg", "--no-card", "--each",
                            "--tolerance 0.05mm", "--knife heron"}) {
    EXPECT_EQ(run.run(photo + other).exit_code, 2) << other;
  }
  EXPECT_EQ(run.run(photo + kStripPhotos + "true.jpg").exit_code, 2);
  EXPECT_EQ(run.run("--practice").exit_code, 2);
  const ProgramRun without = run.run(kStripPhotos + "true.jpg");
  EXPECT_EQ(without.exit_code, 2);
  EXPECT_THAT(without.output, HasSubstr("--thickness"));
  run.expect_earlier_report();
}

}  // namespace
}  // namespace evenbevel::test
