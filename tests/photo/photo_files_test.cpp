#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/error.hpp"
#include "evenbevel/photo.hpp"
#include "scratch_folder.hpp"

namespace evenbevel {
namespace {

TEST(PhotoFilesClosedForm, AFolderGivesItsPhotosInNameOrder) {
  const test::ScratchFolder folder;
  for (const char* name : {"b.JPG", "a.heic", "d.tiff", "c.png", "notes.txt", ".hidden.jpg"}) {
    test::write_file(folder / name, "x");
  }
  std::filesystem::create_directory(folder / "folder.jpg");
  EXPECT_THAT(photo_files(folder.path()),
              ::testing::ElementsAre(folder / "a.heic", folder / "b.JPG", folder / "c.png",
                                     folder / "d.tiff"));
}

TEST(PhotoFilesClosedForm, AFileIsItselfWhateverItsEnding) {
  const test::ScratchFolder folder;
  test::write_file(folder / "photo.bin", "x");
  EXPECT_THAT(photo_files(folder / "photo.bin"), ::testing::ElementsAre(folder / "photo.bin"));
}

TEST(PhotoFilesBadInput, NothingThereOrNoPhotosIsAnError) {
  const test::ScratchFolder folder;
  EXPECT_THROW(photo_files(folder / "none"), Error);
  test::write_file(folder / "notes.txt", "x");
  EXPECT_THROW(photo_files(folder.path()), Error);
}

}  // namespace
}  // namespace evenbevel
