// EXIF of about fifty real cameras, and of three broken blocks, from the Debian package
// golang-github-rwcarlsen-goexif-dev, against exiftool as an independent reader. Most of the
// samples hold the block and no picture, so each block is put in front of a small picture first.

#include <cstdio>
#include <cstdlib>
#include <map>
#include <memory>
#include <sstream>

#include <gtest/gtest.h>

#include "evenbevel/photo.hpp"
#include "scratch_folder.hpp"

namespace evenbevel {
namespace {

const std::filesystem::path kGoexifSamples =
    "/usr/share/gocode/src/github.com/rwcarlsen/goexif/exif";
const std::filesystem::path kPicture =
    "/usr/share/gocode/src/github.com/disintegration/imaging/testdata/orientation_0.jpg";

bool installed() {
  return std::filesystem::exists(kGoexifSamples / "samples") && std::filesystem::exists(kPicture) &&
         std::system("exiftool -ver > /dev/null 2>&1") == 0;
}

std::string output_of(const std::string& command) {
  struct Close {
    void operator()(std::FILE* pipe) const { pclose(pipe); }
  };
  const std::unique_ptr<std::FILE, Close> pipe(popen(command.c_str(), "r"));
  std::string text;
  char part[4096];
  while (pipe && std::fgets(part, sizeof(part), pipe.get()) != nullptr) text += part;
  return text;
}

/// The APP1 segment with the EXIF block; empty if there is none.
std::string exif_segment(const std::string& jpeg) {
  const std::size_t name = jpeg.find(std::string("Exif\0\0", 6));
  if (name == std::string::npos || name < 4 || jpeg.compare(name - 4, 2, "\xFF\xE1") != 0)
    return "";
  const auto byte = [&](std::size_t at) { return static_cast<unsigned char>(jpeg[at]); };
  const std::size_t length = 2 + byte(name - 2) * 256u + byte(name - 1);
  return jpeg.size() < name - 4 + length ? "" : jpeg.substr(name - 4, length);
}

/// Samples as whole pictures; returns their number.
int make_pictures(const std::filesystem::path& from, const test::ScratchFolder& to) {
  const std::string picture = test::file_text(kPicture);
  int made = 0;
  for (const auto& entry : std::filesystem::directory_iterator(from)) {
    const std::string segment = exif_segment(test::file_text(entry.path()));
    if (segment.empty()) continue;
    test::write_file(to / entry.path().filename().string(),
                     picture.substr(0, 2) + segment + picture.substr(2));
    ++made;
  }
  return made;
}

std::string printed(const std::optional<double>& value) {
  if (!value) return "-";
  std::ostringstream out;
  out.precision(6);
  out << *value;
  return out.str();
}

/// What exiftool prints, in our sense of it: 0 is unknown, but an unused zoom.
std::string in_our_words(const std::string& theirs, bool zoom) {
  char* end = nullptr;
  const double value = std::strtod(theirs.c_str(), &end);
  if (end == theirs.c_str()) return "-";  // missing, "undef" or "inf"
  if (value == 0.0) return zoom ? "1" : "-";
  return printed(value);
}

std::string trimmed(const std::string& text) {
  const std::size_t first = text.find_first_not_of(' ');
  return first == std::string::npos || text == "-"
             ? ""
             : text.substr(first, text.find_last_not_of(' ') - first + 1);
}

TEST(ExifOutside, FiftyRealCamerasAreReadAsExiftoolReadsThem) {
  if (!installed()) GTEST_SKIP() << "packages not installed";
  const test::ScratchFolder folder;
  ASSERT_GT(make_pictures(kGoexifSamples / "samples", folder), 40);
  std::istringstream table(output_of(
      "exiftool -T -n -q -q -FileName -IFD0:Make -IFD0:Model -ExifIFD:LensModel -IFD0:Orientation "
      "-ExifIFD:FocalLength -ExifIFD:FocalLengthIn35mmFormat -ExifIFD:DigitalZoomRatio " +
      folder.path().string()));
  int compared = 0;
  for (std::string line; std::getline(table, line); ++compared) {
    std::vector<std::string> cell;
    std::istringstream cells(line);
    for (std::string text; std::getline(cells, text, '\t');) cell.push_back(text);
    ASSERT_EQ(cell.size(), 8u) << line;
    const Photo photo = read_photo(folder / cell[0]);
    EXPECT_EQ(photo.camera.make, trimmed(cell[1])) << line;
    EXPECT_EQ(photo.camera.model, trimmed(cell[2])) << line;
    EXPECT_EQ(photo.camera.lens, trimmed(cell[3])) << line;
    EXPECT_EQ(std::to_string(photo.orientation), cell[4] == "-" ? "1" : cell[4]) << line;
    EXPECT_EQ(printed(photo.camera.focal_length_mm), in_our_words(cell[5], false)) << line;
    EXPECT_EQ(printed(photo.camera.focal_length_35mm), in_our_words(cell[6], false)) << line;
    EXPECT_EQ(printed(photo.camera.digital_zoom), in_our_words(cell[7], true)) << line;
  }
  EXPECT_GT(compared, 40);
}

TEST(ExifOutside, BrokenBlocksDoNotStopAPhoto) {
  if (!installed()) GTEST_SKIP() << "packages not installed";
  const test::ScratchFolder folder;
  ASSERT_EQ(make_pictures(kGoexifSamples / "corrupt", folder), 3);
  for (const auto& entry : std::filesystem::directory_iterator(folder.path())) {
    const Photo photo = read_photo(entry.path());
    EXPECT_EQ(photo.pixels.size(), cv::Size(50, 70)) << entry.path();
  }
  // This one is a whole picture by itself.
  EXPECT_FALSE(read_photo(kGoexifSamples / "corrupt/infinite_loop_exif.jpg").pixels.empty());
}

// Real pairs of real and equivalent focal length, as read from the files by exiftool 12.57.
TEST(ExifOutside, TwoCamerasAndTheirFocalLengths) {
  if (!installed()) GTEST_SKIP() << "packages not installed";
  const Photo phone = read_photo(kGoexifSamples / "samples/has-lens-info.jpg");
  EXPECT_EQ(phone.camera.make, "Apple");
  EXPECT_EQ(phone.camera.model, "iPhone 4S");
  EXPECT_EQ(phone.camera.focal_length_mm, 4.28);
  EXPECT_EQ(phone.camera.focal_length_35mm, 35.0);
  EXPECT_EQ(phone.orientation, 6);
  const Photo reflex = read_photo(kGoexifSamples / "sample1.jpg");
  EXPECT_EQ(reflex.camera.model, "NIKON D2H");
  EXPECT_EQ(reflex.camera.focal_length_mm, 23.33);
  EXPECT_EQ(reflex.camera.focal_length_35mm, 35.0);
  EXPECT_EQ(reflex.pixels.size(), cv::Size(500, 375));
}

}  // namespace
}  // namespace evenbevel
