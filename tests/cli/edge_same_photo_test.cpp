// One photo in other files: turned by EXIF, in other formats and depths, is measured the same.

#include <cmath>
#include <fstream>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>
#include <opencv2/core.hpp>
#include <opencv2/imgcodecs.hpp>

#include "../photo/exif_maker.hpp"
#include "../photo/heic_maker.hpp"
#include "edge_run.hpp"
#include "evenbevel/photo.hpp"
#include "sources.hpp"

namespace evenbevel::test {
namespace {

namespace fs = std::filesystem;

class EdgeSamePhoto : public testing::Test {
 protected:
  /// The sample photo's own report, made once.
  static void SetUpTestSuite() {
    const EdgeRun run;
    const ProgramRun result = run.run(kUsbPhoto + usb_arguments());
    ASSERT_EQ(result.exit_code, 0) << result.output;
    stations_csv_ = file_text(run.out() / "stations.csv");
    report_ = nlohmann::json::parse(file_text(run.out() / "report.json"));
  }

  /// To the last printed digit: 0.01 um, 0.001 px.
  void expect_equal(const std::string& photo) const {
    SCOPED_TRACE(photo);
    const ProgramRun result = run_.run(photo + usb_arguments());
    ASSERT_EQ(result.exit_code, 0) << result.output;
    EXPECT_EQ(file_text(run_.out() / "stations.csv"), stations_csv_);
    const auto report = nlohmann::json::parse(file_text(run_.out() / "report.json"));
    EXPECT_EQ(report.at("quantities"), report_.at("quantities"));
  }

  /// Where the pixels differ a little: each offset within its own standard uncertainty u, the same
  /// stations, and these within 0.1 px across and 0.5 px (a tenth of a station's step) along.
  void expect_within_u(const std::string& photo) const {
    SCOPED_TRACE(photo);
    const ProgramRun result = run_.run(photo + usb_arguments());
    ASSERT_EQ(result.exit_code, 0) << result.output;
    const auto report = nlohmann::json::parse(file_text(run_.out() / "report.json"));
    const auto expect_near = [](const nlohmann::json& got, const nlohmann::json& wanted) {
      EXPECT_NEAR(got.at("value").get<double>(), wanted.at("value").get<double>(),
                  wanted.at("u").get<double>());
    };
    expect_near(report.at("quantities").at("centreline_offset"),
                report_.at("quantities").at("centreline_offset"));
    const auto& stations = report.at("stations");
    const auto& wanted = report_.at("stations");
    ASSERT_NEAR(static_cast<double>(stations.size()), static_cast<double>(wanted.size()), 2.0);
    const std::size_t count = std::min(stations.size(), wanted.size());
    double worst_across = 0.0, worst_share = 0.0;
    int compared = 0;
    for (std::size_t i = 0; i < count; ++i) {
      if (!stations[i].contains("centreline_offset") || !wanted[i].contains("centreline_offset")) {
        continue;
      }
      ++compared;
      EXPECT_NEAR(stations[i]["px"][0].get<double>(), wanted[i]["px"][0].get<double>(), 0.5) << i;
      worst_across = std::max(worst_across, std::abs(stations[i]["px"][1].get<double>() -
                                                     wanted[i]["px"][1].get<double>()));
      const auto& c = wanted[i]["centreline_offset"];
      worst_share =
          std::max(worst_share, std::abs(stations[i]["centreline_offset"]["value"].get<double>() -
                                         c["value"].get<double>()) /
                                    c["u"].get<double>());
    }
    EXPECT_GT(compared, static_cast<int>(0.9 * static_cast<double>(count)));
    EXPECT_LT(worst_across, 0.1);
    EXPECT_LT(worst_share, 1.0);
  }

  std::string saved(const std::string& name, const cv::Mat& pixels) const {
    EXPECT_TRUE(cv::imwrite((run_ / name).string(), pixels));
    return (run_ / name).string();
  }

  const EdgeRun run_;
  static inline std::string stations_csv_;
  static inline nlohmann::json report_;
};

using EdgeSamePhotoClosedForm = EdgeSamePhoto;
using EdgeSamePhotoProperty = EdgeSamePhoto;

cv::Mat sixteen_bit(const cv::Mat& pixels) {
  cv::Mat deep;
  pixels.convertTo(deep, CV_16U, 257.0);  // 255 -> 65535
  return deep;
}

// EXIF orientation (tag 274) tells how to show the picture; what is measured is the stored one.
TEST_F(EdgeSamePhotoClosedForm, EveryEXIFOrientation) {
  const std::string jpeg = file_text(kUsbPhoto);
  for (int orientation = 1; orientation <= 8; ++orientation) {
    const std::string name = "turned-" + std::to_string(orientation) + ".jpg";
    expect_equal(run_.file(name, jpeg_with_exif(jpeg, exif_block({.orientation = orientation}))));
  }
}

TEST_F(EdgeSamePhotoClosedForm, PNGAndTIFFInColourAndGrey) {
  const cv::Mat grey = grey8(usb_photo());  // the luma that is measured in colour photos too
  expect_equal(saved("colour.png", usb_photo()));
  expect_equal(saved("colour.tif", usb_photo()));
  expect_equal(saved("grey.png", grey));
  expect_equal(saved("grey.tif", grey));
}

TEST_F(EdgeSamePhotoClosedForm, ATurnedPNG) {
  const std::string png = file_text(saved("flat.png", usb_photo()));
  expect_equal(run_.file("turned.png", png_with_exif(png, exif_block({.orientation = 6}))));
}

// Luma of 16-bit colour is not rounded to 8 bits, so the last digits move.
TEST_F(EdgeSamePhotoProperty, SixteenBits) {
  expect_within_u(saved("16.png", sixteen_bit(usb_photo())));
  expect_within_u(saved("16.tiff", sixteen_bit(usb_photo())));
  expect_within_u(saved("grey-16.png", sixteen_bit(grey8(usb_photo()))));
}

// Lossy, and by way of YCbCr 4:2:0: the same within u.
TEST_F(EdgeSamePhotoProperty, HEIC) {
  if (heif_have_encoder_for_format(heif_compression_HEVC) == 0) {
    GTEST_SKIP() << "libheif has no HEVC encoder here";
  }
  for (const heif_orientation turn : {heif_orientation_normal, heif_orientation_rotate_90_cw}) {
    const fs::path path = run_ / ("turn-" + std::to_string(turn) + ".heic");
    ASSERT_TRUE(write_heic(path, usb_photo(), turn, "", 8, 98));
    expect_within_u(path.string());
  }
}

}  // namespace
}  // namespace evenbevel::test
