#include <cmath>
#include <map>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "../outside/gauge_study_data.hpp"
#include "sources.hpp"
#include "study_run.hpp"

namespace evenbevel::test {
namespace {

using testing::AllOf;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;

std::string csv_of(const std::vector<StudyReading>& readings) {
  std::string text = "part,person,trial,value\n";
  for (const StudyReading& r : readings) {
    text += r.part + ',' + r.person + ',' + r.trial + ',' + std::to_string(r.value) + '\n';
  }
  return text;
}

// AIAG, Measurement Systems Analysis, 4th ed. (2010), chapter III: both methods, by the command.
TEST(StudyCommandOutside, ClassicReadingsFromACsv) {
  const StudyRun run;
  const std::string csv = run.file("readings.csv", csv_of(readings_of(kClassic)));
  const ProgramRun result = run.run(csv + " --units none");
  EXPECT_EQ(result.exit_code, 0) << result.output;
  EXPECT_THAT(result.output,
              AllOf(HasSubstr("10 parts, 3 persons, 90 readings"),
                    HasSubstr("8 % is the set-up, 92 % is the knives"), HasSubstr("in 4 groups"),
                    HasSubstr("part 4 by B"), HasSubstr("study.html")));
  const nlohmann::json json = run.json();
  EXPECT_EQ(json["schema"], "evenbevel.study/1");
  EXPECT_EQ(json["unit"], "none");
  EXPECT_EQ(json["grade"], "with_care");
  const nlohmann::json& variance = json["analysis_of_variance"];
  EXPECT_TRUE(variance["interaction_pooled"]);
  EXPECT_NEAR(variance["spreads"]["set_up"]["sigma"], 0.302373, 2e-6);
  EXPECT_EQ(variance["spreads"]["distinct_categories"], 4);
  EXPECT_EQ(json["average_and_range"]["spreads"]["distinct_categories"], 5);
  EXPECT_EQ(json["readings"].size(), 90U);
}

// Twice the same study, once of what the first one wrote.
TEST(StudyCommandProperty, ItsOwnCsvGivesTheSameStudy) {
  const StudyRun first, second;
  first.run(first.file("readings.csv", csv_of(readings_of(kClassic))));
  second.run((first.out() / "study.csv").string());
  EXPECT_EQ(first.json()["analysis_of_variance"], second.json()["analysis_of_variance"]);
  EXPECT_EQ(first.json()["readings"], second.json()["readings"]);
}

TEST(StudyCommandClosedForm, ToleranceDecidesTheExitCode) {
  const StudyRun run;
  const std::string csv = run.file("readings.csv", csv_of(readings_of(kClassic)));
  // Six times 0.302 is 1.81; the band is twice the tolerance.
  const ProgramRun wide = run.run(csv + " --tolerance 4mm");
  EXPECT_EQ(wide.exit_code, 0);
  EXPECT_THAT(wide.output, HasSubstr("uses up 23 %"));
  const ProgramRun narrow = run.run(csv + " --tolerance 2mm");
  EXPECT_EQ(narrow.exit_code, 1);
  EXPECT_THAT(narrow.output, AllOf(HasSubstr("uses up 45 %"), HasSubstr("Not good enough")));
  EXPECT_EQ(run.json()["settings"]["from"]["tolerance"], "option");
  EXPECT_EQ(run.json()["settings"]["from"]["display_unit"], "default");
  EXPECT_THAT(file_text(run.out() / "study.html"),
              AllOf(HasSubstr("settings from"), HasSubstr("tolerance (option)")));
}

// Semicolons, decimal commas, a byte order mark, Windows line ends, quotes, other column order.
TEST(StudyCommandClosedForm, CsvAsASpreadsheetWritesIt) {
  const StudyRun run;
  const std::string csv = run.file("readings.csv",
                                   "\xEF\xBB\xBFValue;Part\r\n0,010;\"knife; long\"\r\n"
                                   "0,012mm;\"knife; long\"\r\n\r\n0,5thou;short\r\n;short\r\n"
                                   "-0,002;short\r\n");
  const ProgramRun result = run.run(csv);
  EXPECT_EQ(result.exit_code, 0) << result.output;
  const nlohmann::json json = run.json();
  EXPECT_THAT(json["parts"].get<std::vector<std::string>>(), ElementsAre("knife; long", "short"));
  EXPECT_NEAR(json["readings"][2]["value"], 0.0127, 1e-9);
  EXPECT_EQ(json["readings"].size(), 4U);  // one line had no value
}

TEST(StudyCommandClosedForm, InchesInAndOut) {
  const StudyRun run;
  const std::string csv =
      run.file("readings.csv", "part,value\na,0.0010\na,0.0012\nb,0.0020\nb,0.0022\n");
  const ProgramRun result = run.run(csv + " --units in");
  EXPECT_EQ(result.exit_code, 0) << result.output;
  EXPECT_THAT(result.output, AllOf(HasSubstr("0.00014 in"), Not(HasSubstr(" mm"))));
  EXPECT_NEAR(run.json()["readings"][0]["value"], 0.0254, 1e-9);
}

TEST(StudyCommandClosedForm, MissingCellsAreSaidAndHandled) {
  const StudyRun run;
  const std::string csv =
      run.file("readings.csv",
               "part,person,trial,value\na,Ann,1,1.0\na,Ann,2,1.1\na,Bo,1,1.2\n"
               "b,Ann,1,2.0\nb,Ann,2,2.1\nc,Ann,1,3.0\nc,Bo,1,3.3\nc,Bo,2,3.1\n");
  const ProgramRun result = run.run(csv);
  EXPECT_EQ(result.exit_code, 0) << result.output;
  EXPECT_THAT(result.output,
              AllOf(HasSubstr("between 0 and 2 readings"), HasSubstr("none: part b by Bo"),
                    HasSubstr("fitting of constants")));
  EXPECT_FALSE(run.json()["balanced"]);
  EXPECT_FALSE(run.json().contains("average_and_range"));
}

TEST(StudyCommandClosedForm, ReportsByTheirFolders) {
  const StudyRun run;
  const double values[] = {0.010, 0.012, 0.030, 0.032};
  const char* names[] = {"small-knife-ann-1", "small-knife-ann-2", "big-ann-1", "big-ann-2"};
  for (int i = 0; i < 4; ++i) {
    run.file("reports/" + std::string(names[i]) + "/report.json",
             small_report("edge", "centreline_offset", values[i]));
  }
  const ProgramRun result = run.run((run / "reports").string());
  EXPECT_EQ(result.exit_code, 0) << result.output;
  const nlohmann::json json = run.json();
  EXPECT_EQ(json["quantity"], "centreline_offset");
  EXPECT_THAT(json["parts"].get<std::vector<std::string>>(), ElementsAre("big", "small-knife"));
  // Two pairs 0.002 apart: variance 2e-6; means 0.02 apart.
  EXPECT_NEAR(json["analysis_of_variance"]["spreads"]["repeatability"]["sigma"],
              0.002 / std::sqrt(2.0), 1e-7);
}

TEST(StudyCommandClosedForm, OneReportThatWillNotDoIsLeftOut) {
  const StudyRun run;
  const std::string one = run.file("a-1/report.json", small_report("edge", "line_gap", 0.25));
  const std::string two = run.file("a-2/report.json", small_report("edge", "line_gap", 0.26));
  const std::string bad = run.file("a-3/report.json", small_report("edge", "land_width", 0.26));
  const ProgramRun result = run.run(one + " " + two + " " + bad + " --quantity line_gap");
  EXPECT_EQ(result.exit_code, 0) << result.output;
  EXPECT_THAT(result.output, AllOf(HasSubstr("Left out: "), HasSubstr("has no line_gap")));
  EXPECT_EQ(run.json()["left_out"].size(), 1U);
}

// A gauge of 6.35 mm read 0.02 too wide, scatter 0.002.
TEST(StudyCommandClosedForm, BiasAgainstAKnownGauge) {
  const StudyRun run;
  const std::string csv = run.file(
      "gauge.csv", "part,trial,value\npin,1,6.368\npin,2,6.372\npin,3,6.370\npin,4,6.370\n");
  const ProgramRun result = run.run(csv + " --known 6.350mm --known-u 0.001mm");
  EXPECT_EQ(result.exit_code, 0) << result.output;
  EXPECT_THAT(result.output, AllOf(HasSubstr("bias +0.020 mm"), HasSubstr("p below 0.001"),
                                   HasSubstr("printed bar")));
  const nlohmann::json bias = run.json()["bias"];
  EXPECT_NEAR(bias["bias"]["value"], 0.020, 1e-7);
  // sqrt(0.001633^2 / 4 + 0.001^2)
  EXPECT_NEAR(bias["bias"]["u"], std::hypot(0.0016330 / 2.0, 0.001), 1e-6);
  EXPECT_TRUE(bias["seen"]);
}

// A block of 5 mm, rendered with known truth, 9.7 px/mm.
TEST(StudySamplePhotos, AGaugeBlockIsReadAsWellAsStated) {
  const StudyRun run;
  const nlohmann::json truth =
      nlohmann::json::parse(file_text(kSource + "/sample-images/gauge-block.json"));
  const ProgramRun result = run.run(kSource + "/sample-images/gauge-block.jpg --known " +
                                    truth["pass"]["known"].get<std::string>() + " --edge-height " +
                                    truth["pass"]["edge_height"].get<std::string>() +
                                    " --camera-file " + kSource + "/calibration/sample-usb.yml");
  EXPECT_EQ(result.exit_code, 0) << result.output;
  const nlohmann::json json = run.json();
  EXPECT_EQ(json["quantity"], "thickness");
  EXPECT_EQ(json["readings"][0]["part"], "gauge");
  const double bias_mm = json["bias"]["bias"]["value"];
  EXPECT_NEAR(json["bias"]["mean"], truth["thickness_mm"].get<double>() + bias_mm, 1e-4);
  EXPECT_LT(std::abs(bias_mm), 0.08);
  EXPECT_TRUE(json["bias"]["within_stated"]);
}

TEST(StudyCommandClosedForm, ReportsOfAGaugeNeedItsHeight) {
  const StudyRun run;
  const std::string given = R"({"edge_height": 5.0})";
  const std::string one =
      run.file("pin-1/report.json", small_report("edge", "thickness", 6.36, given));
  const std::string two =
      run.file("pin-2/report.json", small_report("edge", "thickness", 6.35, given));
  const std::string found = run.file("pin-3/report.json", small_report("edge", "thickness", 6.35));
  const ProgramRun result = run.run(one + " " + two + " " + found + " --known 6.35mm");
  EXPECT_EQ(result.exit_code, 0) << result.output;
  EXPECT_THAT(result.output, HasSubstr("was the ruler"));
  EXPECT_EQ(run.json()["bias"]["readings"], 2);
  EXPECT_TRUE(run.json()["bias"]["within_stated"]);
}

// Three knives of known offset, each clamped anew three times, jaws out of square by up to 0.4
// degrees: what a maker's own set-up does.
TEST(StudySamplePhotos, ThreeKnivesThreeClampings) {
  const StudyRun run;
  const ProgramRun result =
      run.run(kSource + "/sample-images/study.csv --tip right --tolerance 0.001in --camera-file " +
              kSource + "/calibration/sample-usb.yml");
  EXPECT_LE(result.exit_code, 1) << result.output;
  const nlohmann::json json = run.json();
  ASSERT_EQ(json["readings"].size(), 9U) << result.output;
  std::map<std::string, double> truth, read;
  for (const std::string knife : {"a", "b", "c"}) {
    const std::string file = kSource + "/sample-images/study-" + knife + "1.json";
    truth["knife " + knife] =
        nlohmann::json::parse(file_text(file))["summary"]["centreline_offset_mm"];
  }
  for (const nlohmann::json& reading : json["readings"]) {
    read[reading["part"]] += reading["value"].get<double>() / 3.0;
  }
  // Facets are 1.3 mm deep; 0.4 degrees move the datum by 0.009 mm there, and three clampings
  // average that down.
  for (const auto& [knife, offset_mm] : truth) EXPECT_NEAR(read[knife], offset_mm, 0.010) << knife;
  const nlohmann::json& spreads = json["analysis_of_variance"]["spreads"];
  // Of three knives at 0.013, -0.030 and 0.048 mm.
  EXPECT_LT(spreads["part"]["interval95"][0], 0.0392);
  EXPECT_GT(spreads["part"]["interval95"][1], 0.0392);
  EXPECT_LT(spreads["set_up"]["sigma"], 0.010);
  EXPECT_GE(spreads["distinct_categories"], 5);
}

}  // namespace
}  // namespace evenbevel::test
