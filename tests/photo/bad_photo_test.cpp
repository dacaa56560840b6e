#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <opencv2/core.hpp>
#include <opencv2/imgcodecs.hpp>
#include <sys/stat.h>

#include "evenbevel/error.hpp"
#include "evenbevel/photo.hpp"
#include "exif_maker.hpp"
#include "picture_maker.hpp"
#include "scratch_folder.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

using test::encoded;
using ::testing::HasSubstr;

void expect_rejected(const std::filesystem::path& path, const std::string& reason) {
  try {
    read_photo(path);
    ADD_FAILURE() << "accepted " << path << ", expected: " << reason;
  } catch (const Error& error) {
    EXPECT_THAT(error.what(), HasSubstr(path.string()));
    EXPECT_THAT(error.what(), HasSubstr(reason));
    EXPECT_FALSE(error.do_next().empty());
  }
}

void expect_bytes_rejected(const std::string& bytes, const std::string& reason) {
  const test::ScratchFolder folder;
  test::write_file(folder / "photo.bin", bytes);
  expect_rejected(folder / "photo.bin", reason);
}

/// Noise, so that damage anywhere reaches the picture.
cv::Mat noise_picture() {
  std::mt19937_64 rng = test::seeded("BadPhotoPicture", 0);
  cv::Mat picture(120, 160, CV_8UC3);
  for (std::size_t i = 0; i < picture.total() * 3; ++i) picture.data[i] = static_cast<uchar>(rng());
  return picture;
}

TEST(PhotoBadInput, WhatIsNoFileIsNamed) {
  const test::ScratchFolder folder;
  expect_rejected(folder / "none.jpg", "no such file");
  expect_rejected(folder.path(), "is a folder");
  test::write_file(folder / "empty.jpg", "");
  expect_rejected(folder / "empty.jpg", "zero bytes");
  ASSERT_EQ(mkfifo((folder / "pipe.jpg").c_str(), 0600), 0);
  expect_rejected(folder / "pipe.jpg", "not an ordinary file");
}

TEST(PhotoBadInput, WhatIsNoPhotoIsNamed) {
  using std::string_literals::operator""s;
  expect_bytes_rejected("just some words", "not an image");
  expect_bytes_rejected("x", "not an image");
  expect_bytes_rejected("GIF89a......", "a GIF picture");
  expect_bytes_rejected("RIFF\1\2\3\4WEBPVP8 ", "a WebP picture");
  expect_bytes_rejected("\0\0\0\x18"s + "ftypmp42....", "a video");
  expect_bytes_rejected("%PDF-1.7", "a PDF page");
  expect_bytes_rejected("\xFF\xD8\xFF"s, "truncated");
}

TEST(PhotoProperty, AFileCutShortAnywhereIsTruncatedOrDamaged) {
  const test::ScratchFolder folder;
  const cv::Mat picture = noise_picture();
  const std::vector<std::string> files{encoded(".jpg", picture),
                                       encoded(".jpg", picture, {cv::IMWRITE_JPEG_PROGRESSIVE, 1}),
                                       encoded(".png", picture), encoded(".tif", picture)};
  for (const std::string& bytes : files) {
    for (int part = 1; part < 40; ++part) {
      test::write_file(folder / "cut",
                       bytes.substr(0, bytes.size() * static_cast<std::size_t>(part) / 40));
      EXPECT_THROW(read_photo(folder / "cut"), Error) << part << " of 40";
    }
    test::write_file(folder / "cut", bytes.substr(0, bytes.size() - 1));
    EXPECT_THROW(read_photo(folder / "cut"), Error) << "the last byte";
  }
}

// Somebody's repair tool closes what was cut off; a progressive file is then only less sharp.
TEST(PhotoProperty, AFileCutShortAndClosedWithAnEndMarkerIsDamaged) {
  const test::ScratchFolder folder;
  const cv::Mat picture = noise_picture();
  const std::vector<std::string> files{encoded(".jpg", picture),
                                       encoded(".jpg", picture, {cv::IMWRITE_JPEG_PROGRESSIVE, 1}),
                                       test::ink_jpeg(picture)};
  for (const std::string& bytes : files) {
    test::write_file(folder / "whole", bytes);
    EXPECT_NO_THROW(read_photo(folder / "whole"));
    const std::size_t first_scan = bytes.find("\xFF\xDA");
    for (int part = 1; part < 40; ++part) {
      const std::size_t kept =
          first_scan + (bytes.size() - first_scan) * static_cast<std::size_t>(part) / 40;
      test::write_file(folder / "cut", bytes.substr(0, kept) + "\xFF\xD9");
      EXPECT_THROW(read_photo(folder / "cut"), Error) << part << " of 40";
    }
    for (std::size_t scan = bytes.find("\xFF\xDA", first_scan + 1); scan != std::string::npos;
         scan = bytes.find("\xFF\xDA", scan + 1)) {
      test::write_file(folder / "cut", bytes.substr(0, scan) + "\xFF\xD9");
      EXPECT_THROW(read_photo(folder / "cut"), Error) << "before the pass at " << scan;
    }
  }
}

// A tail behind the picture is harmless: phones put second pictures and settings there.
TEST(PhotoClosedForm, BytesBehindThePictureAreIgnored) {
  const test::ScratchFolder folder;
  const std::string jpeg = encoded(".jpg", noise_picture());
  test::write_file(folder / "tail.jpg", jpeg + std::string(1000, 'x'));
  EXPECT_NO_THROW(read_photo(folder / "tail.jpg"));
}

// The thumbnail inside EXIF has an end marker of its own.
TEST(PhotoBadInput, AThumbnailDoesNotHideATruncatedPicture) {
  const std::string jpeg = encoded(".jpg", noise_picture());
  const std::string thumbnail = encoded(".jpg", noise_picture()(cv::Rect(0, 0, 32, 32)));
  const std::string both = test::jpeg_with_exif(jpeg, test::exif_block({}) + thumbnail);
  expect_bytes_rejected(both.substr(0, both.size() / 2), "truncated");
}

TEST(PhotoBadInput, ADamagedJPEGIsNotMeasured) {
  std::string jpeg = encoded(".jpg", noise_picture());
  // Codes of all ones are not allowed in JPEG's Huffman tables (ITU-T T.81, annex C).
  for (std::size_t i = 0; i < 200; i += 2) jpeg.replace(jpeg.size() / 2 + i, 2, "\xFF\0", 2);
  expect_bytes_rejected(jpeg, "damaged");
}

TEST(PhotoBadInput, ADamagedPNGIsNotMeasured) {
  std::string png = encoded(".png", noise_picture());
  png[png.size() / 2] = static_cast<char>(png[png.size() / 2] ^ 1);
  expect_bytes_rejected(png, "damaged");
}

std::string sized_png(std::size_t width, std::size_t height) {
  std::string png = encoded(".png", cv::Mat(8, 8, CV_8UC1, cv::Scalar(0)));
  return png.replace(16, 8, test::big_endian_bytes(width, 4) + test::big_endian_bytes(height, 4));
}

std::string sized_jpeg(std::size_t width, std::size_t height) {
  std::string jpeg = encoded(".jpg", cv::Mat(8, 8, CV_8UC1, cv::Scalar(0)));
  const std::size_t frame = jpeg.find("\xFF\xC0");
  return jpeg.replace(frame + 5, 4,
                      test::big_endian_bytes(height, 2) + test::big_endian_bytes(width, 2));
}

TEST(PhotoBadInput, AbsurdSizesAreRefusedBeforeDecoding) {
  expect_bytes_rejected(sized_png(60000, 60000), "60000 x 60000");
  expect_bytes_rejected(sized_png(4'000'000'000, 1), "too large");
  expect_bytes_rejected(sized_png(0, 8), "damaged");
  expect_bytes_rejected(sized_jpeg(65000, 65000), "65000 x 65000");
  expect_bytes_rejected(sized_jpeg(20001, 10000), "200 megapixels");
  // The directory of a TIFF: width (256) and height (257) as 4-byte numbers, nothing else.
  const std::string tiff = std::string("MM\0*\0\0\0\x08\0\2", 10) +
                           std::string("\1\0\0\4\0\0\0\1", 8) + test::big_endian_bytes(100000, 4) +
                           std::string("\1\1\0\4\0\0\0\1", 8) + test::big_endian_bytes(100000, 4) +
                           std::string(4, '\0');
  expect_bytes_rejected(tiff, "100000 x 100000");
}

// DNG specification: tag 50706 (DNGVersion) marks the file.
TEST(PhotoBadInput, ARawPhotoIsNotTakenForItsThumbnail) {
  const std::string tiff = std::string("MM\0*\0\0\0\x08\0\1", 10) +
                           test::big_endian_bytes(50706, 2) +
                           std::string("\0\1\0\0\0\4\1\4\0\0", 10) + std::string(4, '\0');
  expect_bytes_rejected(tiff, "raw photo");
}

TEST(PhotoProperty, DamageAnywhereGivesAPhotoOrAnErrorAndNothingElse) {
  const test::ScratchFolder folder;
  const cv::Mat picture = noise_picture()(cv::Rect(0, 0, 48, 32));
  const std::string block = test::exif_block(
      {.make = "A", .model = "B", .lens = "C", .orientation = 3, .focal_length = {{5, 1}}});
  const std::vector<std::string> files{test::jpeg_with_exif(encoded(".jpg", picture), block),
                                       test::png_with_exif(encoded(".png", picture), block),
                                       encoded(".tif", picture)};
  int rejected = 0;
  for (int scene = 0; scene < 150; ++scene) {
    std::mt19937_64 rng = test::seeded("PhotoDamage", scene);
    std::string bytes = files[static_cast<std::size_t>(scene) % files.size()];
    // Near the start as often as anywhere: that is where the headers are.
    const std::size_t reach = scene % 2 == 0 ? bytes.size() : 200;
    for (int hit = 0; hit < 3; ++hit) bytes[rng() % reach] = static_cast<char>(rng());
    test::write_file(folder / "hit", bytes);
    try {
      const Photo photo = read_photo(folder / "hit");
      EXPECT_FALSE(photo.pixels.empty());
    } catch (const Error&) {
      ++rejected;
    }
  }
  EXPECT_GT(rejected, 30);  // or the damage does not reach anything
}

}  // namespace
}  // namespace evenbevel
