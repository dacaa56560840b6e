// HEIC made by heif-enc (Debian package libheif-examples) from a real JPEG with EXIF orientation 6.
// heif-enc 1.15 copies EXIF but writes no irot box: the ambiguous case. The box decides (libheif
// issues 498 and 227, maintainer), files as this one exist (libvips issue 2551), so it is shown as
// stored, with a warning.

#include <cstdlib>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <opencv2/core.hpp>

#include "evenbevel/photo.hpp"
#include "scratch_folder.hpp"

namespace evenbevel {
namespace {

const std::string kHeicPicture =
    "/usr/share/gocode/src/github.com/disintegration/imaging/testdata/orientation_6.jpg";

TEST(HeicOutside, OrientationInEXIFAloneIsAWarningAndTurnsNothing) {
  if (!std::filesystem::exists(kHeicPicture)) GTEST_SKIP() << "package not installed";
  const test::ScratchFolder folder;
  const std::string heic = (folder / "a.heic").string();
  if (std::system(
          ("heif-enc -q 95 -o " + heic + " " + kHeicPicture + " > /dev/null 2>&1").c_str())) {
    GTEST_SKIP() << "heif-enc cannot make HEIC here";
  }
  const Photo jpeg = read_photo(kHeicPicture);
  const Photo photo = read_photo(heic);
  ASSERT_EQ(jpeg.orientation, 6);
  ASSERT_EQ(photo.pixels.size(), cv::Size(70, 50));
  EXPECT_EQ(photo.orientation, 1);
  ASSERT_EQ(photo.warnings.size(), 1u);
  EXPECT_THAT(sentence(photo.warnings[0], LengthUnit::mm), ::testing::HasSubstr("orientation 6"));
  // Two lossy coders with halved colours; a wrong turn costs over 30 on average.
  EXPECT_LT(cv::norm(jpeg.pixels, photo.pixels, cv::NORM_L1) /
                static_cast<double>(photo.pixels.total() * 3),
            4.0);
}

}  // namespace
}  // namespace evenbevel
