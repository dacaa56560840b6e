// What a study cannot be made of is refused: the reason and the remedy said, nothing written.

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "study_run.hpp"

namespace evenbevel::test {
namespace {

using testing::AllOf;
using testing::HasSubstr;

/// A sample photo as one of a gauge of 3 mm.
std::string sample_gauge(const std::string& photo) {
  const std::string source = SOURCE_FOLDER;
  return source + "/sample-images/" + photo + " --known 3mm --edge-height 5.5mm --camera-file " +
         source + "/calibration/sample-usb.yml";
}

TEST(StudyCommandBadInput, OneReadingOnly) {
  const StudyRun run;
  run.expect_refused(run.file("r.csv", "part,value\na,0.01\n"), 3, HasSubstr("one reading only"));
}

TEST(StudyCommandBadInput, NoReading) {
  const StudyRun run;
  run.expect_refused(run.file("r.csv", "part,value\n"), 3, HasSubstr("no line under its first"));
  run.expect_refused(run.file("s.csv", "part,value\na,\nb,\n"), 3, HasSubstr("no reading"));
  run.expect_refused(run.file("t.csv", ""), 3, HasSubstr("no column 'part'"));
}

TEST(StudyCommandBadInput, WrongHeader) {
  const StudyRun run;
  run.expect_refused(run.file("r.csv", "knife,value\na,1\na,2\n"), 3,
                     AllOf(HasSubstr("a column 'knife'"), HasSubstr("part, person, trial, value")));
  run.expect_refused(run.file("s.csv", "part,person\na,1\na,2\n"), 3,
                     HasSubstr("no column 'value'"));
  run.expect_refused(run.file("t.csv", "part,value,value\na,1,2\n"), 3, HasSubstr("'value' twice"));
  run.expect_refused(run.file("u.csv", "file,part,when\na.jpg,a,1\n"), 3,
                     HasSubstr("a column 'when'"));
}

TEST(StudyCommandBadInput, BrokenLines) {
  const StudyRun run;
  run.expect_refused(run.file("r.csv", "part,value\na,0.01\na\n"), 3,
                     AllOf(HasSubstr("line 3 of"), HasSubstr("has 1 fields")));
  run.expect_refused(run.file("s.csv", "part,value\na,0.01\na,wide\n"), 3,
                     AllOf(HasSubstr("line 3 of"), HasSubstr("'wide' is not a length")));
  run.expect_refused(run.file("t.csv", "part,value\na,0.01\n,0.02\n"), 3,
                     HasSubstr("names no part"));
  run.expect_refused(run.file("u.csv", "part,value\na,0.01\na,nan\n"), 3,
                     HasSubstr("'nan' is not a length"));
  run.expect_refused(run.file("v.csv", "part,value\na,1\na,1e999\n") + " --units none", 3,
                     HasSubstr("'1e999' is not a number"));
}

TEST(StudyCommandBadInput, ReadingsThatSayNothing) {
  const StudyRun run;
  run.expect_refused(run.file("r.csv", "part,value\na,0.01\nb,0.02\n"), 3, HasSubstr("read twice"));
  run.expect_refused(run.file("s.csv", "part,person,value\na,Ann,1\na,Ann,2\nb,Bo,1\nb,Bo,2\n"), 3,
                     HasSubstr("share no part"));
  run.expect_refused(run.file("t.csv", "part,trial,value\na,1,1\na,1,2\n"), 3,
                     HasSubstr("is there twice"));
}

TEST(StudyCommandBadInput, UnknownQuantity) {
  const StudyRun run;
  const std::string one = run.file("a-1/report.json", small_report("edge", "line_gap", 0.25));
  const std::string two = run.file("a-2/report.json", small_report("edge", "line_gap", 0.26));
  run.expect_refused(one + " " + two + " --quantity colour", 3,
                     AllOf(HasSubstr("no report has a quantity 'colour'"), HasSubstr("line_gap")));
}

TEST(StudyCommandBadInput, MixedViews) {
  const StudyRun run;
  const std::string one = run.file("a-1/report.json", small_report("edge", "plunge_mismatch", 0.2));
  const std::string two = run.file("a-2/report.json", small_report("side", "plunge_mismatch", 0.3));
  run.expect_refused(one + " " + two + " --quantity plunge_mismatch", 3,
                     AllOf(HasSubstr("different views: edge, side"), HasSubstr("one view")));
}

TEST(StudyCommandBadInput, FilesThatAreNoReports) {
  const StudyRun run;
  const std::string other = run.file("a-1.json", R"({"schema": "else"})");
  run.expect_refused(other, 3, HasSubstr("is not a report of evenbevel"));
  const std::string broken = run.file("a-2.json", "{");
  run.expect_refused(broken, 3, HasSubstr("is not a report of evenbevel"));
  run.expect_refused((run / "none.csv").string(), 3, HasSubstr("no such file"));
  const std::string text = run.file("a-3.jpg", "no photo");
  run.expect_refused(text + " --thickness 3mm", 3, HasSubstr("not an image"));
}

TEST(StudyCommandBadInput, NamesThatDoNotTellThePart) {
  const StudyRun run;
  run.expect_refused(run.file("IMG_0001.jpg", "x") + " --thickness 3mm", 3,
                     AllOf(HasSubstr("does not say which part"), HasSubstr("PART-PERSON-TRIAL")));
}

TEST(StudyCommandBadInput, OptionsThatDoNotGoTogether) {
  const StudyRun run;
  const std::string csv = run.file("r.csv", "part,value\na,1\na,2\n");
  run.expect_refused("", 2, HasSubstr("input"));
  run.expect_refused(csv + " " + csv, 2, HasSubstr("a CSV stands alone"));
  run.expect_refused(csv + " --known 6.35mm --units deg", 2, HasSubstr("--known"));
  run.expect_refused(run.file("pin-1.jpg", "x") + " --known 6.35mm", 2, HasSubstr("--edge-height"));
  run.expect_refused(csv + " --known wide", 2, HasSubstr("'wide' is not a length"));
  run.expect_refused(csv + " --tolerance -1mm", 2, HasSubstr("above zero"));
  run.expect_refused(csv + " --units furlong", 2, HasSubstr("--units"));
  run.expect_refused(run.file("a-1.jpg", "x"), 2, HasSubstr("--thickness"));
}

TEST(StudyCommandBadInput, APhotoWithoutAGauge) {
  const StudyRun run;
  run.expect_refused(sample_gauge("edge-usb.jpg"), 3, HasSubstr("looks like a blade, ground"));
  run.expect_refused(sample_gauge("gauge-block.jpg"), 3, HasSubstr("no gauge of about 3.000 mm"));
}

TEST(StudyCommandBadInput, AnEarlierStudyStaysWhereTheFolderIsAFile) {
  const StudyRun run;
  run.file("out", "in the way");
  const ProgramRun result = run.run(run.file("r.csv", "part,value\na,1\na,2\n"));
  EXPECT_EQ(result.exit_code, 3) << result.output;
  EXPECT_EQ(file_text(run.out()), "in the way");
}

}  // namespace
}  // namespace evenbevel::test
