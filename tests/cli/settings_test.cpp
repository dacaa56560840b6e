#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "shop_run.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;
using test::ProgramRun;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

const std::string kImages = SOURCE_FOLDER "/sample-images/";
const std::string kCameras = SOURCE_FOLDER "/calibration/";
/// Without EXIF; small, and so quickly measured.
const std::string kUsbPhoto =
    "edge " + kImages + "edge-usb.jpg --tip right --camera-file " + kCameras + "sample-usb.yml";

using SettingsClosedForm = test::ShopRun;
using SettingsBadInput = test::ShopRun;

/// Where a setting is said, and what the report must say of it.
struct Row {
  bool typed, of_knife, of_shop;
  const char* from;  ///< Empty: it is not stated.
  double tolerance_mm;
};

// An option wins over the knife's, the knife's over shop.toml, shop.toml over what is built in.
TEST_F(SettingsClosedForm, EachToleranceComesFromTheNearestPlaceThatSaysIt) {
  const std::vector<Row> rows = {
      {false, false, false, "", 0.0},      {false, false, true, "shop.toml", 0.4},
      {false, true, false, "knife", 0.3},  {false, true, true, "knife", 0.3},
      {true, false, false, "option", 0.2}, {true, false, true, "option", 0.2},
      {true, true, false, "option", 0.2},  {true, true, true, "option", 0.2}};
  ASSERT_EQ(run("record set heron --thickness 3mm").exit_code, 0);
  for (const Row& row : rows) {
    shop_says(row.of_shop ? "tolerance = \"0.4mm\"\n" : "# nothing yet\n");
    run(std::string("record set heron --tolerance ") + (row.of_knife ? "0.3mm" : "none"));
    const ProgramRun done =
        run(kUsbPhoto + " --knife heron -o " + out() + (row.typed ? " --tolerance 0.2mm" : ""));
    // Nobody but the maker changes what was set.
    EXPECT_EQ(run("record show heron").output.find("0.3 mm") != std::string::npos, row.of_knife);
    if (row.typed && !row.of_knife) run("record set heron --tolerance none");
    const nlohmann::json said = settings();
    EXPECT_EQ(said.at("from").value("tolerance", ""), row.from) << done.output;
    EXPECT_EQ(said.value("tolerance", 0.0), row.tolerance_mm);
    EXPECT_EQ(said.at("from").at("thickness"), "knife");
    if (*row.from != '\0') {
      EXPECT_THAT(done.output,
                  HasSubstr("tolerance 0." +
                            std::to_string(static_cast<int>(10.0 * row.tolerance_mm + 0.5)) +
                            " mm (" + row.from + ")"));
    }
  }
}

TEST_F(SettingsClosedForm, AllThatShopTomlMaySayIsTaken) {
  shop_says(
      "# my shop\nunits = \"thou\"\npaper = \"letter\"\ntolerance = 8\nland = \"0,3mm\"\n"
      "side-tolerance = '0.2mm'\nchoil-tolerance = 0.1mm  # of the asymmetry\n\n"
      "[printed-bar]\nedge = [\"199.6mm\", \"199.5mm\"]\nside = \"199.4mm\"\n"
      "heel = 59.9mm\nlens = \"199.7mm\"\n");
  const ProgramRun done = run(kUsbPhoto + " --thickness 3mm -o " + out());
  EXPECT_THAT(
      in_one_line(done.output),
      AllOf(HasSubstr(" thou U95 "), HasSubstr("units thou (shop.toml)"),
            HasSubstr("printed bar (shop.toml)"), HasSubstr("camera sample-usb.yml (option)")));
  const nlohmann::json said = settings();
  EXPECT_NEAR(said.at("tolerance").get<double>(), 8.0 * 0.0254, 1e-9);
  EXPECT_EQ(said.at("land"), 0.3);
  EXPECT_EQ(said.at("display_unit"), "thou");
  EXPECT_EQ(said.at("from").at("thickness"), "option");
  EXPECT_EQ(report().at("card").at("print_scale_along"), 0.998);
  EXPECT_EQ(report().at("card").at("print_scale_across"), 0.9975);
  EXPECT_THAT(test::file_text(folder_ / "out/report.html"),
              AllOf(HasSubstr("settings from"), HasSubstr("land 0.3 mm (shop.toml)")));

  EXPECT_THAT(run("plan --stock 0.2in --land 0.02in").output, HasSubstr("200.0 thou"));
  EXPECT_THAT(run("card edge --format svg -o " + (folder_ / "card.svg").string()).output,
              HasSubstr("card.svg"));
  EXPECT_THAT(test::file_text(folder_ / "card.svg"), HasSubstr("279.4"));  // 11 in: letter paper
}

TEST_F(SettingsClosedForm, EachViewHasItsOwnToleranceAndBar) {
  shop_says(
      "tolerance = 0.05mm\nside-tolerance = 0.5mm\nchoil-tolerance = 0.25mm\n"
      "[printed-bar]\nedge = 199mm\nside = 200.2mm\nheel = 60.1mm\n");
  run("side --left " + kImages + "side-clean-left.jpg --thickness 3mm --camera-file " + kCameras +
      "sample-phone.yml -o " + out());
  EXPECT_EQ(settings().at("tolerance"), 0.5);
  EXPECT_EQ(report().at("card").at("left").at("print_scale_along"), 1.001);
  fs::remove_all(out());
  run("choil " + kImages + "choil-hollow.jpg --camera-file " + kCameras + "sample-phone.yml -o " +
      out());
  EXPECT_EQ(settings().at("tolerance"), 0.25);
  EXPECT_NEAR(report().at("card").at("print_scale_along").get<double>(), 60.1 / 60.0, 1e-6);
}

// As the edge's: an option wins over the knife's, the knife's over shop.toml, and what is first
// said with a knife is kept with it.
TEST_F(SettingsClosedForm, AKnifesTolerancesOfFacesAndSectionGoBeforeTheShops) {
  shop_says("side-tolerance = 0.5mm\nchoil-tolerance = 0.25mm\n");
  const std::string phone = " --camera-file " + kCameras + "sample-phone.yml -o " + out();
  const std::string face = "side --left " + kImages + "side-clean-left.jpg --knife heron" + phone;
  const std::string heel = "choil " + kImages + "choil-hollow.jpg --knife heron" + phone;
  ASSERT_EQ(run("record set heron --thickness 3mm --side-tolerance 0.4mm").exit_code, 0);
  run(face);
  EXPECT_EQ(settings().at("tolerance"), 0.4);
  EXPECT_EQ(settings().at("from").at("tolerance"), "knife");
  EXPECT_THAT(run(face + " --tolerance 0.3mm").output, HasSubstr("0.4 mm stays with the knife"));
  EXPECT_EQ(settings().at("tolerance"), 0.3);
  fs::remove_all(out());
  run(heel);
  EXPECT_EQ(settings().at("from").at("tolerance"), "shop.toml");
  EXPECT_THAT(run(heel + " --tolerance 0.2mm").output,
              HasSubstr("heron: choil-tolerance 0.2 mm is kept"));
  run(heel);
  EXPECT_EQ(settings().at("tolerance"), 0.2);
  EXPECT_EQ(settings().at("from").at("tolerance"), "knife");
  EXPECT_THAT(run("record show heron").output,
              AllOf(HasSubstr("tolerance of bevel heights and plunge lines: 0.4 mm"),
                    HasSubstr("tolerance of the asymmetry: 0.2 mm")));
}

TEST_F(SettingsClosedForm, AStudySaysWhereItsToleranceComesFrom) {
  shop_says("tolerance = \"0.4mm\"\nunits = \"in\"\n");
  const std::filesystem::path csv = folder_ / "readings.csv";
  test::write_file(csv, "part,value\na,0.01\na,0.02\nb,0.05\nb,0.06\n");
  const ProgramRun done =
      run("study " + csv.string() + " --quantity centreline_offset -o " + out());
  ASSERT_LE(done.exit_code, 1) << done.output;
  const nlohmann::json from =
      nlohmann::json::parse(test::file_text(folder_ / "out/study.json")).at("settings").at("from");
  EXPECT_EQ(from.at("tolerance"), "shop.toml");
  EXPECT_EQ(from.at("display_unit"), "shop.toml");
}

TEST_F(SettingsClosedForm, WithoutAnyOfThemTheDefaultsAreSaid) {
  const ProgramRun done = run(kUsbPhoto + " --thickness 3mm -o " + out());
  EXPECT_THAT(done.output,
              AllOf(HasSubstr("units mm (default)"), HasSubstr("printed bar (assumed)"),
                    HasSubstr("thickness 3 mm (option)")));
  EXPECT_FALSE(settings().contains("tolerance"));
}

// XDG Base Directory Specification 0.8: a relative path is ignored, $HOME/.config is the default.
TEST_F(SettingsClosedForm, ShopTomlIsWhereXdgSays) {
  fs::create_directories(folder_ / "home/.config/evenbevel");
  test::write_file(folder_ / "home/.config/evenbevel/shop.toml", "units = thou\n");
  shop_says("units = in\n");
  const auto planned = [&](const std::string& config) {
    return test::run_program("HOME=" + (folder_ / "home").string() + " XDG_CONFIG_HOME=" + config +
                             " " + PROGRAM + " plan --stock 5.08mm --land 0.508mm")
        .output;
  };
  EXPECT_THAT(planned(""), HasSubstr("200.0 thou"));
  EXPECT_THAT(planned("relative"), HasSubstr("200.0 thou"));
  EXPECT_THAT(planned((folder_ / "config").string()), HasSubstr("0.2000 in"));
  EXPECT_THAT(planned((folder_ / "elsewhere").string()), HasSubstr("5.080 mm"));
}

struct BadLine {
  const char* toml;
  std::vector<const char*> said;
};

TEST_F(SettingsBadInput, ABadLineIsNamedWithWhatIsAllowed) {
  const std::vector<BadLine> lines = {
      {"tolerence = 0.05mm\n", {"'tolerence'", "side-tolerance", "[printed-bar]"}},
      {"units = furlong\n", {"'units'", "'furlong'", "\"mm\", \"in\", \"thou\""}},
      {"paper = a3\n", {"'paper'", "\"a4\", \"letter\""}},
      {"tolerance = wide\n", {"'tolerance'", "'wide'", "0.05mm"}},
      {"land = -1mm\n", {"'land'", "above zero"}},
      {"land = 0,3mm\n", {"'land'", "2 values", "quotes"}},
      {"units = mm\nland = 1mm\nunits = in\n", {"'units'", "twice"}},
      {"[printed-bar]\nfront = 199mm\n", {"'front'", "edge, side, heel"}},
      {"[printed-bar]\nedge = 59.9mm\n", {"'printed-bar.edge'", "200"}},
      {"[printed-bar]\nedge = [1mm, 2mm, 3mm]\n", {"'printed-bar.edge'", "3 values"}},
      {"[print]\nedge = 199mm\n", {"'print.edge'"}},
      {"what is this\n", {"'what is this'"}},
      {"x\n", {"'x'", "allowed are units"}},
      {"units = mm\nu=\n", {"'u='", "allowed are units"}},
      {"[printed-bar\n", {"'[printed-bar'"}}};
  for (const BadLine& line : lines) {
    shop_says(line.toml);
    const ProgramRun done = run(kUsbPhoto + " --thickness 3mm -o " + out());
    EXPECT_EQ(done.exit_code, 2) << line.toml;
    EXPECT_THAT(done.output, HasSubstr(shop_file().string()));
    for (const char* words : line.said) EXPECT_THAT(done.output, HasSubstr(words)) << line.toml;
    EXPECT_FALSE(fs::exists(out()));
  }
}

TEST_F(SettingsBadInput, AShopTomlThatIsAFolderIsNamed) {
  fs::create_directories(shop_file());
  const ProgramRun done = run("plan --stock 5mm --land 0.5mm");
  EXPECT_EQ(done.exit_code, 2);
  EXPECT_THAT(done.output, HasSubstr(shop_file().string()));
}

TEST_F(SettingsClosedForm, TheFirstPhotoOfAKnifeTeachesItsThickness) {
  const ProgramRun first = run(kUsbPhoto + " --knife heron --thickness 3mm -o " + out());
  EXPECT_THAT(first.output, AllOf(HasSubstr("heron: thickness 3 mm is kept"),
                                  HasSubstr("record add 'heron' '" + out() + "' --at-stage")));
  const ProgramRun second = run(kUsbPhoto + " --knife heron -o " + out());
  EXPECT_THAT(in_one_line(second.output), HasSubstr("thickness 3 mm (knife)"));
  EXPECT_EQ(settings().at("thickness"), 3.0);
  const ProgramRun other = run(kUsbPhoto + " --knife heron --thickness 3.01mm -o " + out());
  EXPECT_THAT(in_one_line(other.output), AllOf(HasSubstr("thickness 3.01 mm (option)"),
                                               HasSubstr("3 mm stays with the knife")));
  EXPECT_THAT(run("record show heron").output, HasSubstr("stock thickness: 3 mm"));
  EXPECT_EQ(run("record add heron " + out() + " --at-stage '60 grit'").exit_code, 0);
}

TEST_F(SettingsBadInput, AThicknessThatThePhotoRefusesIsNotKept) {
  const ProgramRun done = run(kUsbPhoto + " --knife heron --thickness 6mm -o " + out());
  EXPECT_EQ(done.exit_code, 3) << done.output;
  EXPECT_FALSE(fs::exists(folder_ / "data/evenbevel/record.sqlite"));
}

TEST_F(SettingsBadInput, AKnifeOfUnknownThicknessAsksForIt) {
  const ProgramRun done = run(kUsbPhoto + " --knife osprey -o " + out());
  EXPECT_EQ(done.exit_code, 2);
  EXPECT_THAT(done.output, AllOf(HasSubstr("osprey's thickness"), HasSubstr("by micrometer"),
                                 HasSubstr("type: evenbevel " + kUsbPhoto + " --knife osprey -o " +
                                           out() + " --thickness 3.2mm\n")));
  shop_says("units = in\n");
  EXPECT_THAT(run("side --left a.jpg --knife osprey").output,
              HasSubstr("type: evenbevel side --left a.jpg --knife osprey --thickness 0.125in\n"));
  EXPECT_EQ(run("record set heron").exit_code, 2);
  EXPECT_EQ(run("record set heron --thickness thick").exit_code, 2);
}

TEST_F(SettingsClosedForm, WatchTakesTheSameSettings) {
  shop_says("units = \"thou\"\ntolerance = 20\n");
  ASSERT_EQ(run("record set heron --thickness 3mm --land 0.25mm").exit_code, 0);
  fs::create_directories(folder_ / "in");
  fs::copy_file(kImages + "edge-usb.jpg", folder_ / "in/blade.jpg");
  const ProgramRun done =
      run("watch " + (folder_ / "in").string() +
          " --once --knife heron --tip right --camera-file " + kCameras + "sample-usb.yml");
  EXPECT_EQ(done.exit_code, 0) << done.output;
  EXPECT_THAT(done.output, HasSubstr(" thou"));
  fs::copy(folder_ / "in/measured/blade", folder_ / "out");
  EXPECT_EQ(settings().at("from").at("tolerance"), "shop.toml");
  EXPECT_EQ(settings().at("from").at("thickness"), "knife");
  EXPECT_EQ(settings().at("from").at("land"), "knife");
}

TEST_F(SettingsClosedForm, ThouIsSpokenByEveryCommand) {
  ASSERT_EQ(run(kUsbPhoto + " --thickness 3mm --knife heron --at-stage a -o " + out()).exit_code,
            0);
  EXPECT_THAT(run("record list --units thou").output, HasSubstr(" thou  U95 "));
  EXPECT_THAT(run("record show heron --units thou").output,
              AllOf(HasSubstr("thickness: 118.1 thou"), Not(HasSubstr(" mm\n"))));
  EXPECT_THAT(run("plan --stock 125 --land 12 --units thou").output,
              AllOf(HasSubstr("125.0 thou"), HasSubstr("3.175 mm")));
  test::write_file(folder_ / "readings.csv",
                   "part,trial,value\na,1,1.0\na,2,1.2\nb,1,2.0\nb,2,2.4\nc,1,3.1\nc,2,3.3\n");
  const std::string csv = (folder_ / "readings.csv").string();
  const ProgramRun study = run("study " + csv + " --units thou --tolerance 5 -o " + out());
  EXPECT_THAT(study.output,
              AllOf(HasSubstr("5.00 thou"), Not(testing::ContainsRegex("[0-9] in[^a-z ]")),
                    Not(testing::ContainsRegex("[0-9] in +[0-9]"))));
  const auto json = nlohmann::json::parse(test::file_text(folder_ / "out/study.json"));
  EXPECT_NEAR(json.at("readings").at(0).at("value").get<double>(), 0.0254, 1e-6);
  // The bare numbers of a file stay what they were, whatever the shop speaks.
  shop_says("units = thou\n");
  EXPECT_THAT(run("study " + csv).output, HasSubstr("thou"));
  run("study " + csv + " -o " + out());
  EXPECT_EQ(nlohmann::json::parse(test::file_text(folder_ / "out/study.json"))
                .at("readings")
                .at(0)
                .at("value"),
            1.0);
}

TEST_F(SettingsBadInput, ACommaThatMayPartTwoPlacesIsAsked) {
  const std::string side = "side --left " + kImages + "side-clean-left.jpg --thickness 3mm ";
  for (const std::string option : {"--at", "--at-from-tip"}) {
    const ProgramRun done = run(side + option + " 2,5mm -o " + out());
    EXPECT_EQ(done.exit_code, 2);
    EXPECT_THAT(done.output, AllOf(HasSubstr("comma"), HasSubstr("2,5mm"), HasSubstr("2.5mm")));
  }
  EXPECT_EQ(run(side + "--at 20mm,ten -o " + out()).exit_code, 2);
}

}  // namespace
}  // namespace evenbevel
