#include <gtest/gtest.h>
#include <opencv2/core.hpp>
#include <opencv2/imgcodecs.hpp>

#include "evenbevel/photo.hpp"
#include "exif_maker.hpp"
#include "picture_maker.hpp"
#include "scratch_folder.hpp"
#include "units/sha256.hpp"

namespace evenbevel {
namespace {

using test::encoded;
using test::largest_difference;
using test::smooth_picture;

const cv::Size kSize{67, 45};

Photo read_bytes(const std::string& name, const std::string& bytes) {
  const test::ScratchFolder folder;
  test::write_file(folder / name, bytes);
  return read_photo(folder / name);
}

Photo jpeg_photo(const test::ExifContent& content) {
  return read_bytes("a.jpg", test::jpeg_with_exif(encoded(".jpg", smooth_picture(kSize, CV_8UC3)),
                                                  test::exif_block(content)));
}

// libjpeg decodes both, ours without OpenCV: the same numbers must come out.
TEST(PhotoClosedForm, JPEGPixelsAreThoseThatOpenCVDecodes) {
  for (const std::vector<int>& settings : {std::vector<int>{cv::IMWRITE_JPEG_QUALITY, 95},
                                           std::vector<int>{cv::IMWRITE_JPEG_QUALITY, 20},
                                           std::vector<int>{cv::IMWRITE_JPEG_PROGRESSIVE, 1},
                                           std::vector<int>{cv::IMWRITE_JPEG_RST_INTERVAL, 2}}) {
    for (const int type : {CV_8UC1, CV_8UC3}) {
      const std::string bytes = encoded(".jpg", smooth_picture(kSize, type), settings);
      const std::vector<uchar> raw(bytes.begin(), bytes.end());
      const cv::Mat expected = cv::imdecode(raw, cv::IMREAD_ANYCOLOR);
      const Photo photo = read_bytes("a.jpg", bytes);
      EXPECT_EQ(photo.pixels.type(), type);
      EXPECT_EQ(largest_difference(photo.pixels, expected), 0.0) << settings[0];
    }
  }
}

TEST(PhotoClosedForm, LosslessFilesComeBackAsTheyWere) {
  for (const char* ending : {".png", ".tif"}) {
    for (const int type : {CV_8UC1, CV_8UC3, CV_16UC1, CV_16UC3}) {
      const cv::Mat picture = smooth_picture(kSize, type);
      const Photo photo = read_bytes(std::string("a") + ending, encoded(ending, picture));
      EXPECT_EQ(largest_difference(photo.pixels, picture), 0.0) << ending << ' ' << type;
      EXPECT_EQ(photo.orientation, 1);
      EXPECT_TRUE(photo.warnings.empty());
    }
  }
}

TEST(PhotoClosedForm, AlphaIsDropped) {
  for (const char* ending : {".png", ".tif"}) {
    const Photo photo =
        read_bytes(std::string("a") + ending, encoded(ending, smooth_picture(kSize, CV_8UC4)));
    EXPECT_EQ(largest_difference(photo.pixels, smooth_picture(kSize, CV_8UC3)), 0.0) << ending;
  }
  const Photo deep = read_bytes("a.png", encoded(".png", smooth_picture(kSize, CV_16UC4)));
  EXPECT_EQ(largest_difference(deep.pixels, smooth_picture(kSize, CV_16UC3)), 0.0);
}

TEST(PhotoClosedForm, TheNameIsThePathAsGivenAndTheEndingDoesNotMatter) {
  const test::ScratchFolder folder;
  test::write_file(folder / "photo.txt", encoded(".png", smooth_picture(kSize, CV_8UC1)));
  EXPECT_EQ(read_photo(folder / "photo.txt").name, (folder / "photo.txt").string());
}

TEST(PhotoClosedForm, EXIFOfAJPEGNamesTheCamera) {
  const Photo photo = jpeg_photo({.make = "Demo Optics",
                                  .model = "D1",
                                  .lens = "wide 5.6 mm",
                                  .orientation = 6,
                                  .focal_length_35mm = 25,
                                  .focal_length = {{56, 10}},
                                  .digital_zoom = {{3, 2}}});
  EXPECT_EQ(photo.orientation, 6);
  EXPECT_EQ(photo.pixels.size(), kSize);  // not turned
  EXPECT_EQ(photo.camera.make, "Demo Optics");
  EXPECT_EQ(photo.camera.model, "D1");
  EXPECT_EQ(photo.camera.lens, "wide 5.6 mm");
  EXPECT_EQ(photo.camera.focal_length_mm, 5.6);
  EXPECT_EQ(photo.camera.focal_length_35mm, 25.0);
  EXPECT_EQ(photo.camera.digital_zoom, 1.5);
}

TEST(PhotoClosedForm, EXIFOfAPNGIsReadToo) {
  const std::string png = encoded(".png", smooth_picture(kSize, CV_16UC3));
  const Photo photo = read_bytes(
      "a.png", test::png_with_exif(png, test::exif_block({.model = "D1", .orientation = 8})));
  EXPECT_EQ(photo.orientation, 8);
  EXPECT_EQ(photo.camera.model, "D1");
  EXPECT_EQ(largest_difference(photo.pixels, smooth_picture(kSize, CV_16UC3)), 0.0);
}

TEST(PhotoBadInput, AFocalLengthThatNoCameraHasIsLeftOut) {
  for (const int focal_mm : {1, 2, 7, 1201, 65535}) {
    const Photo photo = jpeg_photo({.model = "Pocket", .focal_length_35mm = focal_mm});
    EXPECT_FALSE(photo.camera.focal_length_35mm) << focal_mm;
    ASSERT_EQ(photo.warnings.size(), 1U) << focal_mm;
    EXPECT_EQ(photo.warnings.front().code, RemarkCode::focal_length_absurd);
  }
  for (const int focal_mm : {8, 24, 1200}) {
    const Photo photo = jpeg_photo({.focal_length_35mm = focal_mm});
    EXPECT_EQ(photo.camera.focal_length_35mm, focal_mm);
    EXPECT_TRUE(photo.warnings.empty());
  }
}

TEST(PhotoBadInput, OfSeveralPagesTheFirstIsReadAndSaidSo) {
  const test::ScratchFolder folder;
  const cv::Mat first = test::smooth_picture({40, 30}, CV_8UC3);
  ASSERT_TRUE(cv::imwritemulti(folder / "pages.tif",
                               std::vector<cv::Mat>{first, cv::Mat(first.t()), first.clone()}));
  const Photo photo = read_photo(folder / "pages.tif");
  EXPECT_EQ(test::largest_difference(photo.pixels, first), 0.0);
  ASSERT_EQ(photo.warnings.size(), 1U);
  EXPECT_EQ(sentence(photo.warnings.front(), LengthUnit::mm),
            "The file holds 3 pictures; the first one was measured.");
  ASSERT_TRUE(cv::imwrite(folder / "one.tif", first));
  EXPECT_TRUE(read_photo(folder / "one.tif").warnings.empty());
}

TEST(PhotoClosedForm, TheHashIsOfTheBytesThatWereDecoded) {
  const test::ScratchFolder folder;
  const std::string one = encoded(".png", test::smooth_picture({40, 30}, CV_8UC3));
  test::write_file(folder / "photo.png", one);
  const Photo photo = read_photo(folder / "photo.png");
  test::write_file(folder / "photo.png", encoded(".png", cv::Mat(30, 40, CV_8UC3, {1, 2, 3})));
  EXPECT_EQ(photo.sha256, sha256(one));
}

// Exif 2.3: a 35 mm equivalent of 0 means unknown (tag 0xA405), a zoom of 0 means not used
// (0xA404).
TEST(PhotoClosedForm, ZerosInEXIFHaveTheirMeaning) {
  const Photo photo =
      jpeg_photo({.focal_length_35mm = 0, .focal_length = {{0, 10}}, .digital_zoom = {{0, 1}}});
  EXPECT_FALSE(photo.camera.focal_length_35mm);
  EXPECT_FALSE(photo.camera.focal_length_mm);
  EXPECT_EQ(photo.camera.digital_zoom, 1.0);
}

TEST(PhotoBadInput, NonsenseInEXIFIsLeftOut) {
  const Photo photo = jpeg_photo({.make = "  A\nB\x80  ",
                                  .model = std::string(500, 'x'),
                                  .orientation = 9,
                                  .focal_length = {{5, 0}}});
  EXPECT_EQ(photo.orientation, 1);
  EXPECT_EQ(photo.camera.make, "AB?");
  EXPECT_EQ(photo.camera.model.size(), 100u);
  EXPECT_FALSE(photo.camera.focal_length_mm);
}

/// OpenCV's TIFF with the orientation tag appended: its directory moves to the end of the file.
std::string tiff_with_orientation(const cv::Mat& pixels, int orientation) {
  std::string tiff = encoded(".tif", pixels);
  const auto number = [&](std::size_t at, std::size_t bytes) {
    std::size_t value = 0;
    for (std::size_t i = bytes; i > 0; --i) {
      value = value << 8 | static_cast<unsigned char>(tiff[at + i - 1]);
    }
    return value;
  };
  const auto bytes_of = [](std::size_t value, int bytes) {
    std::string out;
    for (int i = 0; i < bytes; ++i) out += static_cast<char>(value >> (8 * i) & 255);
    return out;
  };
  constexpr std::size_t kEntry = 12, kOrientation = 274;
  const std::size_t start = number(4, 4), count = number(start, 2);
  std::string before, after;
  std::size_t others = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const std::size_t at = start + 2 + i * kEntry, tag = number(at, 2);
    if (tag == kOrientation) continue;
    (tag < kOrientation ? before : after) += tiff.substr(at, kEntry);
    ++others;
  }
  const std::string entry = bytes_of(kOrientation, 2) + bytes_of(3, 2) + bytes_of(1, 4) +
                            bytes_of(static_cast<std::size_t>(orientation), 4);
  if (tiff.size() % 2 == 1) tiff += '\0';
  tiff.replace(4, 4, bytes_of(tiff.size(), 4));
  return tiff + bytes_of(others + 1, 2) + before + entry + after + bytes_of(0, 4);
}

// OpenCV turns TIFF files by itself, whatever it is told.
TEST(PhotoClosedForm, TIFFStaysAsStoredForEveryOrientation) {
  for (const int type : {CV_8UC3, CV_16UC1}) {
    const cv::Mat picture = smooth_picture(kSize, type);
    ASSERT_EQ(encoded(".tif", picture).substr(0, 2), "II");
    for (int orientation = 1; orientation <= 8; ++orientation) {
      const Photo photo = read_bytes("a.tif", tiff_with_orientation(picture, orientation));
      EXPECT_EQ(photo.orientation, orientation);
      EXPECT_EQ(largest_difference(photo.pixels, picture), 0.0) << orientation;
    }
  }
}

}  // namespace
}  // namespace evenbevel
