// `evenbevel finish` as a maker runs it: exit codes against a tolerance, what the sample photos'
// truth files say, and wrong use.

#include <filesystem>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "command_run.hpp"
#include "evenbevel/lamp_ticks.hpp"
#include "evenbevel/units.hpp"
#include "scratch_folder.hpp"
#include "sources.hpp"

namespace evenbevel::test {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

const std::string kLampCamera =
    " --thickness 3.2mm --camera-file " + kSource + "/calibration/sample-finish.yml";

std::string four_lamps(const std::string& name) {
  std::string photos = "--face left";
  for (const char* number : {"1", "2", "3", "4"}) {
    photos += " " + kSamples + "finish-" + name + "-" + number + ".jpg";
  }
  return photos + kLampCamera;
}

nlohmann::json finish_report(const CommandRun& run) {
  return nlohmann::json::parse(file_text(run.out() / "report.json"));
}

/// Whether the interval of the scratches on the face holds the truth's number.
void expect_count_held(const nlohmann::json& report, const std::string& photo) {
  const nlohmann::json truth = nlohmann::json::parse(file_text(kSamples + photo + ".json"));
  const nlohmann::json count = report.at("quantities").at("scratches_left");
  const double area = count.at("area_cm2"), number = truth.at("scratch_count");
  EXPECT_LE(count.at("low").get<double>() * area, number);
  EXPECT_GE(count.at("high").get<double>() * area, number);
}

TEST(FinishCommandPhotos, ACleanFaceIsWithin) {
  const CommandRun run("finish");
  const ProgramRun program = run.run(four_lamps("clean") + " --tolerance 0.5 --grit 220");
  ASSERT_EQ(program.exit_code, 0) << program.output;
  const nlohmann::json report = finish_report(run);
  EXPECT_EQ(report.at("verdict"), "within");
  EXPECT_EQ(report.at("settings").at("grit"), 220);
  EXPECT_FALSE(report.at("settings").contains("grit_before"));
  expect_count_held(report, "finish-clean-1");
}

TEST(FinishCommandPhotos, CoarseScratchesAreOutside) {
  const CommandRun run("finish");
  const ProgramRun program = run.run(four_lamps("scratched") + " --tolerance 0.05");
  ASSERT_EQ(program.exit_code, 1) << program.output;
  const nlohmann::json report = finish_report(run);
  EXPECT_EQ(report.at("verdict"), "outside");
  expect_count_held(report, "finish-scratched-1");
}

TEST(FinishCommandPhotos, ALampAlongScratchesNamesWhatItCannotSee) {
  const CommandRun run("finish");
  const ProgramRun program =
      run.run("--face left " + kSamples + "finish-lamp-along.jpg" + kLampCamera + " --tolerance 2");
  ASSERT_EQ(program.exit_code, 1) << program.output;  // Few were found, but some hide.
  EXPECT_THAT(program.output, AllOf(HasSubstr("not resolved"), HasSubstr("No lamp place shows")));
  const nlohmann::json report = finish_report(run);
  EXPECT_EQ(report.at("verdict"), "unresolved");
  const nlohmann::json truth =
      nlohmann::json::parse(file_text(kSamples + "finish-lamp-along.json"));
  const double hidden = truth.at("scratches").at(0).at("direction_deg");
  bool named = false;
  for (const nlohmann::json& warning : report.at("warnings")) {
    if (warning.at("code") != "finish_blind") continue;
    const nlohmann::json& values = warning.at("values");
    named = named || (values.at("from_deg").get<double>() <= hidden &&
                      values.at("to_deg").get<double>() >= hidden);
  }
  EXPECT_TRUE(named) << report.at("warnings").dump();
  // The lamp goes across the middle of what no lamp shows; the left face's tip lies to the left.
  const nlohmann::json& blind = report.at("warnings").at(0).at("values");
  const double middle =
      0.5 * (blind.at("from_deg").get<double>() + blind.at("to_deg").get<double>());
  const LampTick tick = lamp_tick_on_axis(radians(180.0 - (middle + 90.0)));
  EXPECT_THAT(report.at("advice").dump(),
              HasSubstr("at the card's tick " + std::to_string(tick.number)));
}

// Two readings each of two faces, by other lamp places: PART-TRIAL is the report's folder.
TEST(FinishCommandPhotos, AStudySaysWhetherTwoReadingsOfAFaceAgree) {
  const CommandRun finish("finish"), study("study");
  const std::string reports = (study.out().parent_path() / "reports").string();
  for (const std::string name : {"clean", "scratched"}) {
    for (const int trial : {1, 2}) {
      const std::string photo = kSamples + "finish-" + name + "-";
      const std::string first = std::to_string(2 * trial - 1), second = std::to_string(2 * trial);
      finish.run("--face left " + photo + first + ".jpg " + photo + second + ".jpg" + kLampCamera);
      std::filesystem::create_directories(reports + "/" + name + "-" + std::to_string(trial));
      write_file(reports + "/" + name + "-" + std::to_string(trial) + "/report.json",
                 file_text(finish.out() / "report.json"));
    }
  }
  const ProgramRun program = study.run(reports + " --quantity scratches_left");
  EXPECT_EQ(program.exit_code, 0) << program.output;
  EXPECT_THAT(program.output, AllOf(HasSubstr("scratches left: 2 parts, 1 person, 4 readings"),
                                    HasSubstr("between knives"), Not(HasSubstr(" mm"))));
  const nlohmann::json json = nlohmann::json::parse(file_text(study.out() / "study.json"));
  EXPECT_EQ(json.at("unit"), "none");
  for (const nlohmann::json& reading : json.at("readings")) {
    const std::string from =
        reading.at("part").get<std::string>() + "-" + reading.at("trial").get<std::string>();
    const nlohmann::json report =
        nlohmann::json::parse(file_text(reports + "/" + from + "/report.json"));
    EXPECT_EQ(reading.at("value"), report.at("quantities").at("scratches_left").at("value"));
  }
  EXPECT_THAT(study.run(reports).output, HasSubstr("give --quantity one of scratch"));
}

TEST(FinishCommandBadInput, WrongUseIsTold) {
  const CommandRun run("finish");
  const std::string photo = kSamples + "finish-clean-1.jpg";
  for (const std::string& arguments :
       {std::string("--thickness 3.2mm"), photo + kLampCamera,
        "--face front " + photo + kLampCamera,
        "--face left " + photo + kLampCamera + " --leave-out 5mm,1mm,2mm,3mm"}) {
    const ProgramRun program = run.run(arguments);
    EXPECT_EQ(program.exit_code, 2) << arguments << '\n' << program.output;
    run.expect_earlier_report();
  }
}

TEST(FinishCommandBadInput, TheSamePhotoTwiceIsTold) {
  const CommandRun run("finish");
  const std::string photo = kSamples + "finish-clean-1.jpg";
  run.expect_refused("--face left " + photo + " " + photo + kLampCamera,
                     HasSubstr("the same photo"));
}

}  // namespace
}  // namespace evenbevel::test
