#include <filesystem>
#include <fstream>
#include <string>

#include <gtest/gtest.h>

#include "run_program.hpp"
#include "scratch_folder.hpp"
#include "sources.hpp"

namespace {

using evenbevel::test::kCamera;
using evenbevel::test::kSource;

namespace fs = std::filesystem;

const std::string kScribedPhoto = kSource + "/sample-images/edge-scribed-dye.jpg";

using evenbevel::test::ProgramRun;

ProgramRun run(const std::string& arguments) {
  return evenbevel::test::run_program(std::string(PROGRAM) + ' ' + arguments);
}

class EdgeCommandBadInput : public testing::Test {
 protected:
  void SetUp() override {
    folder_ =
        fs::temp_directory_path() /
        ("evenbevel-" + std::string(testing::UnitTest::GetInstance()->current_test_info()->name()));
    fs::remove_all(folder_);
    fs::create_directories(folder_);
  }
  void TearDown() override { fs::remove_all(folder_); }

  std::string out() const { return (folder_ / "out").string(); }
  std::string file(const std::string& name, const std::string& content) const {
    std::ofstream(folder_ / name, std::ios::binary) << content;
    return (folder_ / name).string();
  }
  void expect_refused(const std::string& arguments, const std::string& said) const {
    const ProgramRun result = run("edge " + arguments + " -o " + out());
    EXPECT_EQ(result.exit_code, 3) << result.output;
    EXPECT_NE(result.output.find(said), std::string::npos) << result.output;
    EXPECT_NE(result.output.find("do: "), std::string::npos) << result.output;
    EXPECT_FALSE(fs::exists(out())) << "something was written";
  }

  fs::path folder_;
};

TEST_F(EdgeCommandBadInput, AMissingPhotoIsNamed) {
  expect_refused(folder_.string() + "/none.jpg --thickness 3.4mm", "none.jpg");
}

TEST_F(EdgeCommandBadInput, AnEmptyFileIsNamed) {
  expect_refused(file("empty.jpg", "") + " --thickness 3.4mm", "empty.jpg");
}

TEST_F(EdgeCommandBadInput, ATextFileIsNoPhoto) {
  expect_refused(file("notes.jpg", "grind the left side") + " --thickness 3.4mm", "notes.jpg");
}

TEST_F(EdgeCommandBadInput, AFolderIsNoPhoto) {
  expect_refused(folder_.string() + " --thickness 3.4mm", folder_.string());
}

TEST_F(EdgeCommandBadInput, ATruncatedPhotoIsNamed) {
  std::ifstream whole(kScribedPhoto, std::ios::binary);
  std::string start(200000, '\0');
  whole.read(start.data(), static_cast<std::streamsize>(start.size()));
  expect_refused(file("half.jpg", start) + " --thickness 3.4mm", "half.jpg");
}

TEST_F(EdgeCommandBadInput, TheCameraFileOfAnotherCameraIsRefused) {
  expect_refused(
      kScribedPhoto + " --thickness 3.4mm --camera-file " + kSource + "/calibration/sample-usb.yml",
      "camera");
}

TEST_F(EdgeCommandBadInput, TheWrongUnitIsNamed) {
  expect_refused(kScribedPhoto + " --thickness 0.134mm" + kCamera, "does not fit the blade");
}

TEST_F(EdgeCommandBadInput, WhenAskedTheRefusedPhotoIsShownWithWhatWasFound) {
  const std::string blurred = kSource + "/sample-images/edge-blurred.jpg --thickness 3.175mm";
  const ProgramRun plain = run("edge " + blurred + " -o " + out());
  const ProgramRun shown = run("edge " + blurred + " --show-refused -o " + out());
  EXPECT_EQ(shown.exit_code, 3);
  EXPECT_NE(shown.output.find(plain.output), std::string::npos) << "the same sentences\n"
                                                                << shown.output;
  EXPECT_NE(shown.output.find(out() + "/refused.jpg"), std::string::npos) << shown.output;
  EXPECT_TRUE(fs::exists(out() + "/refused.jpg"));
  EXPECT_FALSE(fs::exists(out() + "/report.json"));
}

TEST_F(EdgeCommandBadInput, AnUnwritableFolderLeavesNothing) {
  const std::string blocker = file("blocker", "a file");
  const ProgramRun result =
      run("edge " + kScribedPhoto + " --thickness 3.4mm" + kCamera + " -o " + blocker + "/out");
  EXPECT_EQ(result.exit_code, 3) << result.output;
  EXPECT_TRUE(fs::is_regular_file(blocker));
}

TEST_F(EdgeCommandBadInput, ALengthThatIsNoneIsWrongUse) {
  EXPECT_EQ(run("edge " + kScribedPhoto + " --thickness thick").exit_code, 2);
  EXPECT_EQ(run("edge " + kScribedPhoto).exit_code, 2);
  EXPECT_EQ(run("edge --thickness 3.4mm").exit_code, 2);
  EXPECT_EQ(run("edge a.jpg --turned b.jpg --each --thickness 3.4mm").exit_code, 2);
}

TEST_F(EdgeCommandBadInput, OneBadPhotoDoesNotStopTheRest) {
  const std::string bad = file("bad.jpg", "no photo");
  const ProgramRun result = run("edge " + bad + " " + kScribedPhoto +
                                " --each --tip right --thickness 3.4mm" + kCamera + " -o " + out());
  EXPECT_EQ(result.exit_code, 3) << result.output;
  EXPECT_NE(result.output.find("not measured"), std::string::npos) << result.output;
  EXPECT_TRUE(fs::exists(out() + "/edge-scribed-dye/report.json"));
  EXPECT_FALSE(fs::exists(out() + "/bad"));
}

TEST(EdgeCommandClosedForm, VerdictsSetTheExitCode) {
  const evenbevel::test::ScratchFolder folder;
  const std::string arguments = "edge " + kScribedPhoto + " --thickness 0.134in --tip right" +
                                kCamera + " -o " + (folder / "out").string();
  EXPECT_EQ(run(arguments).exit_code, 0);
  EXPECT_EQ(run(arguments + " --tolerance 0.2mm").exit_code, 0);
  EXPECT_EQ(run(arguments + " --tolerance 0.01mm").exit_code, 1);
}

TEST(EdgeCommandClosedForm, HelpCarriesExamplesAndCautions) {
  const ProgramRun result = run("edge --help");
  EXPECT_EQ(result.exit_code, 0);
  EXPECT_NE(result.output.find("--camera-file phone.yml"), std::string::npos);
  EXPECT_NE(result.output.find("running belt"), std::string::npos);
  EXPECT_EQ(run("--version").exit_code, 0);
}

// Lines on plain stock look the same from both ends: which face is which must be said.
TEST(EdgeTipBadInput, WhereTheTipPointsIsAskedFor) {
  const evenbevel::test::ScratchFolder folder;
  const std::string photo =
      kScribedPhoto + " --thickness 3.4mm" + kCamera + " -o " + (folder / "out").string();
  const ProgramRun asked = run("edge " + photo);
  EXPECT_EQ(asked.exit_code, 3);
  EXPECT_NE(asked.output.find("give --tip right or --tip left"), std::string::npos) << asked.output;
  EXPECT_EQ(run("edge " + photo + " --tip right").exit_code, 0);
}

}  // namespace
