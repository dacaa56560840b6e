// Orientation (Exif tag 274) on real files of all eight cases, from the Debian packages
// golang-github-disintegration-imaging-dev (orientation_0 to 8: one picture, 0 without the tag)
// and golang-github-rwcarlsen-goexif-dev (f1 to f8: another one). Measured alike: the same place
// of the upright picture comes out of every file, whatever way it is stored.

#include <gtest/gtest.h>
#include <opencv2/core.hpp>

#include "evenbevel/photo.hpp"

namespace evenbevel {
namespace {

const std::string kImaging =
    "/usr/share/gocode/src/github.com/disintegration/imaging/testdata/orientation_";
const std::string kGoexif = "/usr/share/gocode/src/github.com/rwcarlsen/goexif/exif/samples/f";

/// Where the dark parts have their centre, stored grid.
cv::Point2d dark_centre(const cv::Mat& pixels) {
  const cv::Mat grey = grey8(pixels);
  cv::Point2d sum(0, 0);
  double weight = 0.0;
  for (int y = 0; y < grey.rows; ++y) {
    for (int x = 0; x < grey.cols; ++x) {
      const double dark = 255.0 - grey.at<uchar>(y, x);
      sum += dark * cv::Point2d(x, y);
      weight += dark;
    }
  }
  return sum / weight;
}

void expect_alike(const Photo& first, const Photo& other) {
  const cv::Mat a = upright(first.pixels, first.orientation);
  const cv::Mat b = upright(other.pixels, other.orientation);
  ASSERT_EQ(a.size(), b.size());
  // Each file was compressed by itself: a few grey levels. A wrong turn costs over 30 on average.
  EXPECT_LT(cv::norm(a, b, cv::NORM_L1) / static_cast<double>(a.total() * 3), 2.0);
  const cv::Point2d centre_a =
      upright_point(dark_centre(first.pixels), first.pixels.size(), first.orientation);
  const cv::Point2d centre_b =
      upright_point(dark_centre(other.pixels), other.pixels.size(), other.orientation);
  EXPECT_LT(cv::norm(centre_a - centre_b), 0.05);  // the same compression noise
}

TEST(OrientationOutside, NineFilesOfOnePictureAreMeasuredAlike) {
  if (!std::filesystem::exists(kImaging + "0.jpg")) GTEST_SKIP() << "package not installed";
  const Photo plain = read_photo(kImaging + "0.jpg");
  EXPECT_EQ(plain.orientation, 1);
  for (int orientation = 1; orientation <= 8; ++orientation) {
    const Photo photo = read_photo(kImaging + std::to_string(orientation) + ".jpg");
    EXPECT_EQ(photo.orientation, orientation);
    EXPECT_EQ(photo.pixels.size(), orientation <= 4 ? cv::Size(50, 70) : cv::Size(70, 50));
    expect_alike(plain, photo);
  }
}

TEST(OrientationOutside, EightFilesOfAnotherPictureAreMeasuredAlike) {
  if (!std::filesystem::exists(kGoexif + "1-exif.jpg")) GTEST_SKIP() << "package not installed";
  const Photo first = read_photo(kGoexif + "1-exif.jpg");
  for (int orientation = 1; orientation <= 8; ++orientation) {
    const Photo photo = read_photo(kGoexif + std::to_string(orientation) + "-exif.jpg");
    EXPECT_EQ(photo.orientation, orientation);
    EXPECT_EQ(photo.pixels.size(), orientation <= 4 ? cv::Size(40, 80) : cv::Size(80, 40));
    expect_alike(first, photo);
  }
}

}  // namespace
}  // namespace evenbevel
