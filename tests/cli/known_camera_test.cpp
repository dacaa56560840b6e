#include <filesystem>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/camera.hpp"
#include "shop_run.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;
using test::ProgramRun;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

const std::string kShots = SOURCE_FOLDER "/sample-images/";
const std::string kPhone = SOURCE_FOLDER "/calibration/sample-phone.yml";

/// A JPEG without its APP1 segments, where EXIF stands; the picture's own bytes stay.
std::string without_app1(const std::string& jpeg) {
  std::string rest = jpeg.substr(0, 2);
  std::size_t at = 2;
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(jpeg.at(i)); };
  constexpr int kStartOfScan = 0xDA, kApp1 = 0xE1;
  while (byte(at + 1) != kStartOfScan) {
    const std::size_t length = 2U + byte(at + 2) * 256U + byte(at + 3);
    if (byte(at + 1) != kApp1) rest += jpeg.substr(at, length);
    at += length;
  }
  return rest + jpeg.substr(at);
}

class KnownCamera : public test::ShopRun {
 protected:
  std::string offset_camera() const { return report().at("settings").at("from").at("camera"); }
  double offset_U95_mm() const {
    return report().at("quantities").at("centreline_offset").at("U95").get<double>();
  }
  ProgramRun edge(const std::string& photo, const std::string& more = "") const {
    return run("edge " + photo + " --thickness 3.4mm --shows ground --tip right -o " + out() +
               more);
  }
  /// The same picture, as a messenger passes it on.
  std::string without_exif(const std::string& photo) const {
    const std::string path = (folder_ / "passed-on.jpg").string();
    test::write_file(path, without_app1(test::file_text(photo)));
    return path;
  }
  void keep(const std::string& file, const std::string& as) const {
    fs::create_directories(cameras());
    fs::copy_file(file, cameras() / as);
  }
};

using KnownCameraClosedForm = KnownCamera;
using KnownCameraBadInput = KnownCamera;

TEST_F(KnownCameraClosedForm, AfterCalibrateAPhotoAndAKnifeAreEnough) {
  const std::string calibrate = "calibrate " + kShots + "lens-01.jpg " + kShots + "lens-03.jpg " +
                                kShots + "lens-05.jpg " + kShots + "lens-07.jpg " + kShots +
                                "lens-09.jpg " + kShots + "lens-11.jpg -o " +
                                (folder_ / "phone.yml").string();
  const ProgramRun first = run(calibrate);
  ASSERT_EQ(first.exit_code, 0) << first.output;
  const std::string kept = (cameras() / "wrenfield-wf-31-5.67mm-4032x3024.yml").string();
  EXPECT_THAT(first.output, AllOf(HasSubstr("kept              " + kept), HasSubstr("phone.yml"),
                                  Not(HasSubstr("in place of"))));
  EXPECT_EQ(test::file_text(kept), test::file_text(folder_ / "phone.yml"));
  EXPECT_THAT(run(calibrate).output, HasSubstr(kept + " (in place of the earlier one"));

  ASSERT_EQ(run("record set heron --thickness 3.4mm").exit_code, 0);
  const ProgramRun done =
      run("edge " + kShots + "edge-ground-offcentre.jpg --knife heron -o " + out());
  EXPECT_LE(done.exit_code, 1) << done.output;
  EXPECT_THAT(in_one_line(done.output),
              AllOf(HasSubstr("thickness 3.4 mm (knife)"),
                    HasSubstr("camera wrenfield-wf-31-5.67mm-4032x3024.yml (found by EXIF)")));
  EXPECT_EQ(offset_camera(), "exif");
  EXPECT_FALSE(report().at("camera").at("guessed").get<bool>());
}

TEST_F(KnownCameraClosedForm, CalibrateKeepsThePrintedBarBesideWhatTheShopSays) {
  shop_says("# the grinding room\nunits = \"in\"\n\n[printed-bar]  \nedge = \"199.6mm\"\n");
  const std::string photos = "calibrate " + kShots + "lens-01.jpg " + kShots + "lens-03.jpg " +
                             kShots + "lens-05.jpg " + kShots + "lens-07.jpg " + kShots +
                             "lens-09.jpg " + kShots + "lens-11.jpg -o " +
                             (folder_ / "phone.yml").string();
  const ProgramRun measured = run(photos + " --printed-bar 199.5mm 7.862in");
  ASSERT_EQ(measured.exit_code, 0) << measured.output;
  EXPECT_THAT(measured.output,
              HasSubstr("printed bar       kept for the lens card in " + shop_file().string()));
  const std::string kept = test::file_text(shop_file());
  EXPECT_EQ(kept,
            "# the grinding room\nunits = \"in\"\n\n[printed-bar]  \n"
            "lens = [\"199.5mm\", \"199.6948mm\"]\nedge = \"199.6mm\"\n");
  const std::string scaled = test::file_text(folder_ / "phone.yml");
  // Later it is taken from there, and another word does not replace it.
  EXPECT_EQ(run(photos).exit_code, 0);
  EXPECT_EQ(test::file_text(folder_ / "phone.yml"), scaled);
  EXPECT_THAT(run(photos + " --printed-bar 200mm").output, Not(HasSubstr("printed bar  ")));
  EXPECT_EQ(test::file_text(shop_file()), kept);
}

TEST_F(KnownCameraClosedForm, WhatIsFoundMeasuresAsWhatIsNamed) {
  keep(kPhone, "mine.yml");
  ASSERT_EQ(edge(kShots + "edge-ground-offcentre.jpg").exit_code, 0);
  const nlohmann::json found = report();
  EXPECT_EQ(offset_camera(), "exif");
  ASSERT_EQ(edge(kShots + "edge-ground-offcentre.jpg", " --camera-file " + kPhone).exit_code, 0);
  EXPECT_EQ(offset_camera(), "option");
  EXPECT_EQ(report().at("quantities"), found.at("quantities"));
  EXPECT_EQ(report().at("warnings"), found.at("warnings"));
}

TEST_F(KnownCameraClosedForm, BothFacesAndTheHeelFindTheCameraToo) {
  keep(kPhone, "mine.yml");
  run("side --left " + kShots + "side-clean-left.jpg --right " + kShots +
      "side-clean-right.jpg --thickness 3mm -o " + out());
  EXPECT_EQ(offset_camera(), "exif");
  fs::remove_all(out());
  run("choil " + kShots + "choil-hollow.jpg -o " + out());
  EXPECT_EQ(offset_camera(), "exif");
}

// What a camera file would narrow is said first; with the file there is nothing left to say.
TEST_F(KnownCameraClosedForm, AMissingCameraFileIsTheFirstAdviceWhereItWidensTheInterval) {
  const std::string photo = without_exif(kShots + "edge-ground-offcentre.jpg");
  EXPECT_THAT(edge(photo).output, HasSubstr("\nphoto: Calibrate the camera once"));
  const auto worst_U95_mm = [&] {
    return report().at("quantities").at("centreline_offset_worst").at("U95").get<double>();
  };
  const double guessed_mm = worst_U95_mm();
  fs::remove_all(out());  // of another photo: it would be left alone
  EXPECT_THAT(edge(kShots + "edge-ground-offcentre.jpg", " --camera-file " + kPhone).output,
              Not(HasSubstr("Calibrate the camera")));
  EXPECT_LT(worst_U95_mm(), 0.9 * guessed_mm);
}

TEST_F(KnownCameraBadInput, APhotoWithoutExifFindsNoneAndSaysWhy) {
  keep(kPhone, "mine.yml");
  const ProgramRun done = edge(without_exif(kShots + "edge-ground-offcentre.jpg"));
  EXPECT_EQ(offset_camera(), "default");
  EXPECT_TRUE(report().at("camera").at("guessed").get<bool>());
  EXPECT_THAT(report().at("warnings").dump(),
              AllOf(HasSubstr("camera_unnamed"), HasSubstr("no EXIF"), HasSubstr("--camera-file")));
  EXPECT_THAT(in_one_line(done.output), HasSubstr("camera guessed (default)"));
}

TEST_F(KnownCameraBadInput, APhotoWithoutExifIsMeasuredWiderWithTheFileThatIsNamed) {
  const std::string with = " --camera-file " + kPhone;
  const std::string scribed = kShots + "edge-scribed-dye.jpg";
  const auto measured = [&](const std::string& photo) {
    return run("edge " + photo + " --thickness 3.4mm --tip right -o " + out() + with);
  };
  ASSERT_EQ(measured(scribed).exit_code, 0);
  const double named_U95_mm = offset_U95_mm();
  EXPECT_THAT(report().at("warnings").dump(), Not(HasSubstr("camera_not_told")));
  fs::remove_all(out());
  ASSERT_EQ(measured(without_exif(scribed)).exit_code, 0);
  EXPECT_GT(offset_U95_mm(), named_U95_mm);
  EXPECT_EQ(offset_camera(), "option");
  EXPECT_THAT(report().at("warnings").dump(),
              AllOf(HasSubstr("camera_not_told"), HasSubstr("sample-phone.yml"),
                    HasSubstr("as the camera stored it")));
}

TEST_F(KnownCameraBadInput, APhotoOfAnotherCameraSaysThatItIsNotKnown) {
  const ProgramRun done = edge(kShots + "edge-ground-offcentre.jpg");
  EXPECT_EQ(offset_camera(), "default");
  EXPECT_THAT(report().at("warnings").dump(),
              AllOf(HasSubstr("camera_unknown"), HasSubstr("Wrenfield WF-31"),
                    HasSubstr("evenbevel calibrate"), HasSubstr("4032 x 3024 px")));
}

TEST_F(KnownCameraBadInput, ADamagedCameraFileStopsNothing) {
  keep(kPhone, "mine.yml");
  test::write_file(cameras() / "broken.yml", "%YAML:1.0\nnothing");
  const ProgramRun done = edge(kShots + "edge-ground-offcentre.jpg");
  EXPECT_EQ(done.exit_code, 0);
  EXPECT_THAT(done.output, AllOf(HasSubstr("broken.yml"), HasSubstr("left out")));
  EXPECT_EQ(offset_camera(), "exif");
}

}  // namespace
}  // namespace evenbevel
