#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "run_program.hpp"
#include "scratch_folder.hpp"
#include "sources.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;

using test::kSamples;

using test::ProgramRun;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

const std::string kCalibration = SOURCE_FOLDER "/calibration/";
const std::string kEdge = " edge " + kSamples + "edge-usb.jpg --thickness 3mm --tip right" +
                          " --camera-file " + kCalibration + "sample-usb.yml";
const std::string kSide = " side --left " + kSamples + "side-clean-left.jpg --right " + kSamples +
                          "side-clean-right.jpg --thickness 3mm --camera-file " + kCalibration +
                          "sample-phone.yml";
const std::string kChoil =
    " choil " + kSamples + "choil-hollow.jpg --camera-file " + kCalibration + "sample-phone.yml";

class RecordInOneGo : public testing::Test {
 protected:
  ProgramRun run(const std::string& arguments) const {
    return test::run_program(std::string(PROGRAM) + arguments);
  }
  ProgramRun recorded(const std::string& measure, const std::string& stage) const {
    fs::remove_all(out());
    return run(measure + " -o " + out() + " --knife 'paring 3' " + stage + " --record " + record());
  }
  ProgramRun from_record(const std::string& arguments) const {
    return run(" record " + arguments + " --record " + record());
  }
  std::string out() const { return (folder_ / "out").string(); }
  std::string record() const { return (folder_ / "record.sqlite").string(); }

  test::ScratchFolder folder_;
};

using RecordInOneGoClosedForm = RecordInOneGo;
using RecordInOneGoBadInput = RecordInOneGo;

TEST_F(RecordInOneGoClosedForm, AllThreeViewsGoIntoOneKnife) {
  // The other two photos are of thinner blades, and the knife's thickness is the first one's.
  const std::string choil = kChoil + " --thickness 3.2mm";
  int entry = 0;
  for (const std::string& measure : {kEdge, kSide, choil}) {
    const ProgramRun run = recorded(measure, "--stage '60 grit'");
    EXPECT_EQ(run.exit_code, 0) << run.output;
    EXPECT_THAT(run.output,
                AllOf(HasSubstr("entry " + std::to_string(++entry) + ": paring 3, 60 grit"),
                      Not(HasSubstr("warning: The report does not hold"))));
  }
  EXPECT_THAT(recorded(choil, "--stage '60 grit'").output, HasSubstr("already in as entry 3"));
  EXPECT_THAT(from_record("show 'paring 3'").output,
              AllOf(HasSubstr("edge-usb.jpg"), HasSubstr("side view"),
                    HasSubstr("side-clean-left.jpg"), HasSubstr("side-clean-right.jpg"),
                    HasSubstr("choil view"), HasSubstr("thickness 10 mm behind the edge")));
  EXPECT_THAT(from_record("check").output, HasSubstr("3 entries, 4 photos"));
}

TEST_F(RecordInOneGoClosedForm, ASideReportMadeBeforeGoesInWithBothPhotos) {
  ASSERT_EQ(run(kSide + " -o " + out()).exit_code, 0);
  EXPECT_EQ(from_record("add 'paring 3' " + out() + " --stage '120 grit'").exit_code, 0);
  EXPECT_THAT(from_record("check").output, AllOf(HasSubstr("2 photos"), HasSubstr("sound")));
}

TEST_F(RecordInOneGoClosedForm, WhatThePhotoShowsAndTheKnifesStageAreSaidApart) {
  EXPECT_THAT(recorded(kEdge, "--shows ground --at-stage 'after heat treatment'").output,
              HasSubstr("paring 3, after heat treatment"));
  EXPECT_THAT(recorded(kEdge, "--stage '60 grit'").output, HasSubstr("paring 3, 60 grit"));
}

// The knife brings what is known of it; where its report belongs only its maker knows.
TEST_F(RecordInOneGoBadInput, WithoutItsStageTheReportIsLeftOutAndHowToPutItInIsSaid) {
  const ProgramRun measured = recorded(kChoil, "");
  EXPECT_EQ(measured.exit_code, 0) << measured.output;
  EXPECT_THAT(measured.output,
              AllOf(HasSubstr("not put in"), HasSubstr("record add 'paring 3' '" + out() + "'")));
  EXPECT_FALSE(std::filesystem::exists(record()));
}

TEST_F(RecordInOneGoBadInput, AStageThatMayBeEitherIsAsked) {
  const ProgramRun either = recorded(kEdge, "--stage ground");
  EXPECT_EQ(either.exit_code, 2);
  EXPECT_THAT(either.output, AllOf(HasSubstr("--shows ground"), HasSubstr("--at-stage ground")));
}

TEST_F(RecordInOneGoBadInput, WhatIsMissingIsSaidBeforeAnythingIsMeasured) {
  for (const std::string& measure : {kEdge, kSide, kChoil}) {
    const ProgramRun no_stage = recorded(measure, "--note 'a burr'");
    EXPECT_EQ(no_stage.exit_code, 2);
    EXPECT_THAT(no_stage.output, HasSubstr("--at-stage \"120 grit\""));
    const ProgramRun no_knife = run(measure + " --record " + record() + " --at-stage '60 grit'");
    EXPECT_EQ(no_knife.exit_code, 2);
    EXPECT_THAT(no_knife.output, HasSubstr("--knife"));
  }
  const ProgramRun stage_alone = run(kEdge + " --stage '60 grit'");
  EXPECT_EQ(stage_alone.exit_code, 2);
  EXPECT_THAT(stage_alone.output, HasSubstr("scribed, ground, bevelled"));
  EXPECT_FALSE(std::filesystem::exists(record()));
}

}  // namespace
}  // namespace evenbevel
