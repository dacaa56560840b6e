#include <filesystem>
#include <string>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>
#include <opencv2/imgproc.hpp>

#include "evenbevel/photo.hpp"
#include "run_program.hpp"
#include "scratch_folder.hpp"
#include "seeded.hpp"
#include "sources.hpp"

namespace evenbevel::test {
namespace {

const std::string kGroundPhoto = kSource + "/sample-images/edge-ground-offcentre.jpg";

ProgramRun run(const std::string& arguments) {
  return run_program(std::string(PROGRAM) + " edge " + arguments);
}

/// Paper: nothing but its grain.
std::string paper(const ScratchFolder& folder) {
  cv::Mat picture(1200, 1600, CV_8UC3);
  std::mt19937_64 rng = seeded("Paper", 0);
  for (int y = 0; y < picture.rows; ++y) {
    for (int x = 0; x < picture.cols; ++x) {
      const auto grey = cv::saturate_cast<uchar>(190.0 + 8.0 * normal(rng));
      picture.at<cv::Vec3b>(y, x) = {grey, grey, grey};
    }
  }
  cv::GaussianBlur(picture, picture, {0, 0}, 1.0);
  const std::vector<uchar> jpeg = encode_jpeg(picture, 90);
  const std::filesystem::path path = folder / "paper.jpg";
  write_file(path, {jpeg.begin(), jpeg.end()});
  return path.string();
}

TEST(EdgeQuickLookClosedForm, EveryFileSaysThatNoCardWasUsed) {
  const ScratchFolder folder;
  const std::string out = (folder / "out").string();
  const ProgramRun result = run(kGroundPhoto + " --no-card --thickness 3.4mm -o " + out);
  EXPECT_EQ(result.exit_code, 0) << result.output;
  EXPECT_NE(result.output.find("quick look, no card"), std::string::npos) << result.output;
  EXPECT_NE(result.output.find("Lay the edge card"), std::string::npos) << result.output;
  const nlohmann::json json = nlohmann::json::parse(file_text(folder / "out/report.json"));
  EXPECT_EQ(json["card"]["kind"], "none");
  EXPECT_EQ(json["card"]["quick_look"], true);
  EXPECT_FALSE(json["photo_quality"].contains("camera_lateral"));
  EXPECT_NE(file_text(folder / "out/report.html").find("quick look, no card"), std::string::npos);
  EXPECT_TRUE(std::filesystem::exists(folder / "out/annotated.jpg"));
}

TEST(EdgeQuickLookClosedForm, AToleranceThatTheParallaxHidesIsNotResolved) {
  const ProgramRun result = run(kGroundPhoto + " --no-card --thickness 3.4mm --tolerance 0.05mm");
  EXPECT_EQ(result.exit_code, 1) << result.output;
  EXPECT_NE(result.output.find("not resolved"), std::string::npos) << result.output;
}

TEST(EdgeQuickLookBadInput, TheThicknessIsTheRulerAndCannotBeLeftOut) {
  EXPECT_EQ(run(kGroundPhoto + " --no-card").exit_code, 2);
}

TEST(EdgeQuickLookBadInput, HeightsAndPrintsNeedTheCard) {
  EXPECT_EQ(run(kGroundPhoto + " --no-card --thickness 3.4mm --edge-height 4mm").exit_code, 2);
  EXPECT_EQ(run(kGroundPhoto + " --no-card --thickness 3.4mm --printed-bar 199mm").exit_code, 2);
}

TEST(EdgeQuickLookBadInput, APictureWithoutABladeIsRefused) {
  const ScratchFolder folder;
  const std::string out = (folder / "out").string();
  for (const std::string& photo : {paper(folder), kSource + "/calibration/edge-a4.png"}) {
    const ProgramRun result = run(photo + " --no-card --thickness 3.4mm -o " + out);
    EXPECT_EQ(result.exit_code, 3) << photo << '\n' << result.output;
    EXPECT_FALSE(std::filesystem::exists(out)) << photo;
  }
}

TEST(EdgeQuickLookBadInput, WithoutTheOptionAPhotoWithoutACardStaysRefusedAndTheOptionIsNamed) {
  const ScratchFolder folder;
  const ProgramRun result = run(paper(folder) + " --thickness 3.4mm");
  EXPECT_EQ(result.exit_code, 3) << result.output;
  EXPECT_NE(result.output.find("--no-card"), std::string::npos) << result.output;
}

}  // namespace
}  // namespace evenbevel::test
