// HEIC files made by libheif's encoder, read back by us.

#include <memory>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <libheif/heif.h>
#include <opencv2/core.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/photo.hpp"
#include "exif_maker.hpp"
#include "heic_maker.hpp"
#include "picture_maker.hpp"
#include "scratch_folder.hpp"

namespace evenbevel {
namespace {

using test::largest_difference;
using test::smooth_picture;
using test::write_heic;

const cv::Size kHeicSize{96, 64};
// Lossy coding and the way over YCbCr 4:2:0, of a smooth picture at quality 95.
constexpr double kLossy = 8.0;

class Heic : public ::testing::Test {
 protected:
  void SetUp() override {
    if (heif_have_encoder_for_format(heif_compression_HEVC) == 0) {
      GTEST_SKIP() << "libheif has no HEVC encoder here";
    }
  }
  const test::ScratchFolder folder;
};
using HeicClosedForm = Heic;
using HeicBadInput = Heic;

TEST_F(HeicClosedForm, ThePictureComesBack) {
  const cv::Mat picture = smooth_picture(kHeicSize, CV_8UC3);
  ASSERT_TRUE(write_heic(folder / "a.heic", picture, heif_orientation_normal));
  const Photo photo = read_photo(folder / "a.heic");
  EXPECT_LE(largest_difference(photo.pixels, picture), kLossy);
  EXPECT_EQ(photo.orientation, 1);
  EXPECT_TRUE(photo.warnings.empty());
}

TEST_F(HeicClosedForm, TenBitsComeBackOverTheFullRange) {
  const cv::Mat picture = smooth_picture(kHeicSize, CV_16UC3);
  ASSERT_TRUE(write_heic(folder / "a.heic", picture, heif_orientation_normal, "", 10));
  const Photo photo = read_photo(folder / "a.heic");
  EXPECT_LE(largest_difference(photo.pixels, picture), kLossy * 257);
}

// ISO/IEC 23008-12: irot turns the picture. Kept for display, so that the grid is the sensor's.
TEST_F(HeicClosedForm, ATurnInTheFileBecomesTheOrientation) {
  const cv::Mat picture = smooth_picture(kHeicSize, CV_8UC3);
  for (const heif_orientation orientation :
       {heif_orientation_rotate_180, heif_orientation_rotate_90_cw,
        heif_orientation_rotate_270_cw}) {
    const std::string exif =
        test::exif_block({.model = "D1", .orientation = static_cast<int>(orientation)});
    ASSERT_TRUE(write_heic(folder / "a.heic", picture, orientation, exif));
    const Photo photo = read_photo(folder / "a.heic");
    EXPECT_EQ(photo.orientation, static_cast<int>(orientation));
    EXPECT_LE(largest_difference(photo.pixels, picture), kLossy);
    EXPECT_EQ(photo.camera.model, "D1");
    EXPECT_TRUE(photo.warnings.empty());
  }
}

// Whatever way a mirrored file is read: shown upright, it is the picture that libheif itself shows.
TEST_F(HeicClosedForm, AMirroredPictureIsShownAsLibheifShowsIt) {
  for (const heif_orientation orientation :
       {heif_orientation_flip_horizontally, heif_orientation_flip_vertically,
        heif_orientation_rotate_90_cw_then_flip_horizontally}) {
    const cv::Mat picture = smooth_picture(kHeicSize, CV_8UC3);
    ASSERT_TRUE(write_heic(folder / "a.heic", picture, orientation));
    const Photo photo = read_photo(folder / "a.heic");
    EXPECT_LE(largest_difference(upright(photo.pixels, photo.orientation),
                                 upright(picture, static_cast<int>(orientation))),
              kLossy)
        << orientation;
  }
}

TEST_F(HeicClosedForm, OnlyEXIFSaysTurnedIsAWarningAndNothingIsTurned) {
  const cv::Mat picture = smooth_picture(kHeicSize, CV_8UC3);
  ASSERT_TRUE(write_heic(folder / "a.heic", picture, heif_orientation_normal,
                         test::exif_block({.orientation = 6, .focal_length_35mm = 25})));
  const Photo photo = read_photo(folder / "a.heic");
  EXPECT_EQ(photo.orientation, 1);
  EXPECT_LE(largest_difference(photo.pixels, picture), kLossy);
  EXPECT_EQ(photo.camera.focal_length_35mm, 25.0);
  ASSERT_EQ(photo.warnings.size(), 1u);
  EXPECT_THAT(sentence(photo.warnings[0], LengthUnit::mm), ::testing::HasSubstr("orientation 6"));
}

TEST_F(HeicBadInput, ATruncatedFileIsRefused) {
  ASSERT_TRUE(
      write_heic(folder / "a.heic", smooth_picture(kHeicSize, CV_8UC3), heif_orientation_normal));
  const std::string bytes = test::file_text(folder / "a.heic");
  for (std::size_t part = 1; part < 20; ++part) {
    test::write_file(folder / "cut.heic", bytes.substr(0, bytes.size() * part / 20));
    EXPECT_THROW(read_photo(folder / "cut.heic"), Error) << part;
  }
}

TEST_F(HeicBadInput, DamageGivesAPhotoOrAnErrorAndNothingElse) {
  ASSERT_TRUE(write_heic(folder / "a.heic", smooth_picture(kHeicSize, CV_8UC3),
                         heif_orientation_rotate_90_cw));
  const std::string bytes = test::file_text(folder / "a.heic");
  int rejected = 0;
  for (std::size_t at = 8; at < std::min<std::size_t>(bytes.size(), 700); at += 7) {
    std::string hit = bytes;
    hit[at] = static_cast<char>(hit[at] ^ 0x55);
    test::write_file(folder / "hit.heic", hit);
    try {
      EXPECT_FALSE(read_photo(folder / "hit.heic").pixels.empty());
    } catch (const Error&) {
      ++rejected;
    }
  }
  EXPECT_GT(rejected, 10);
}

}  // namespace
}  // namespace evenbevel
