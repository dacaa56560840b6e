#include <filesystem>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/camera_store.hpp"
#include "evenbevel/error.hpp"
#include "scratch_folder.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;

CameraModel store_camera(const CameraIdentity& identity) {
  CameraModel camera;
  camera.width_px = 400;
  camera.height_px = 300;
  camera.focal_px = {300.0, 301.0};
  camera.centre_px = {199.0, 151.0};
  camera.identity = identity;
  return camera;
}

const CameraIdentity kMain{.make = "Harrow Works",
                           .model = "H2",
                           .lens = "H2 main",
                           .focal_length_mm = 5.6,
                           .focal_length_35mm = 25.0};

Photo store_photo(const CameraIdentity& identity) {
  Photo photo;
  photo.name = "blade.jpg";
  photo.pixels = cv::Mat::zeros(300, 400, CV_8UC1);
  photo.camera = identity;
  return photo;
}

bool is_found(const CameraIdentity& of_photo, const test::ScratchFolder& folder) {
  return find_camera(store_photo(of_photo), folder.path()).camera.has_value();
}

TEST(CameraStoreClosedForm, APhotoFindsItsCamerasFile) {
  const test::ScratchFolder folder;
  EXPECT_FALSE(is_found(kMain, folder));
  const KeptCamera kept = keep_camera(store_camera(kMain), folder.path());
  EXPECT_FALSE(kept.replaced);
  EXPECT_EQ(kept.file.filename(), "harrow-works-h2-5.6mm-400x300.yml");
  const FoundCamera found = find_camera(store_photo(kMain), folder.path());
  ASSERT_TRUE(found.camera.has_value());
  EXPECT_EQ(found.camera->file, kept.file.string());
  EXPECT_EQ(found.camera->focal_px.x(), 300.0);
}

TEST(CameraStoreClosedForm, ExifRoundsTheFocalLength) {
  const test::ScratchFolder folder;
  keep_camera(store_camera(kMain), folder.path());
  CameraIdentity rounded = kMain;
  rounded.focal_length_mm = 5.61;
  EXPECT_TRUE(is_found(rounded, folder));
}

TEST(CameraStoreClosedForm, ANewerCalibrationTakesTheEarliersPlace) {
  const test::ScratchFolder folder;
  const fs::path first = keep_camera(store_camera(kMain), folder.path()).file;
  CameraModel newer = store_camera(kMain);
  newer.focal_px = {305.0, 306.0};
  const KeptCamera kept = keep_camera(newer, folder.path());
  EXPECT_TRUE(kept.replaced);
  EXPECT_EQ(kept.file, first);
  EXPECT_EQ(find_camera(store_photo(kMain), folder.path()).camera->focal_px.x(), 305.0);
}

TEST(CameraStoreClosedForm, CamerasThatDifferInOneThingStandSideBySide) {
  const test::ScratchFolder folder;
  CameraIdentity tele = kMain, other = kMain;
  tele.lens = "H2 tele";  // the same name of a file, but for the lens
  other.model = "H3";
  for (const CameraIdentity& identity : {kMain, tele, other}) {
    EXPECT_FALSE(keep_camera(store_camera(identity), folder.path()).replaced);
  }
  CameraModel larger = store_camera(kMain);
  larger.width_px = 800;
  larger.height_px = 600;
  larger.focal_px *= 2.0;
  larger.centre_px *= 2.0;
  EXPECT_FALSE(keep_camera(larger, folder.path()).replaced);
  for (const CameraIdentity& identity : {kMain, tele, other}) {
    const FoundCamera found = find_camera(store_photo(identity), folder.path());
    ASSERT_TRUE(found.camera.has_value());
    EXPECT_EQ(found.camera->identity.lens, identity.lens);
    EXPECT_EQ(found.camera->identity.model, identity.model);
    EXPECT_EQ(found.camera->width_px, 400);
  }
}

// Make, model, lens and focal length as far as the file holds them.
TEST(CameraStoreClosedForm, TheFileThatHoldsMostIsTaken) {
  const test::ScratchFolder folder;
  keep_camera(store_camera({.make = "Harrow Works", .model = "H2"}), folder.path());
  keep_camera(store_camera(kMain), folder.path());
  EXPECT_EQ(find_camera(store_photo(kMain), folder.path()).camera->identity.lens, "H2 main");
  CameraIdentity another = kMain;
  another.lens = "H2 wide";
  EXPECT_TRUE(find_camera(store_photo(another), folder.path()).camera->identity.lens.empty());
}

TEST(CameraStoreBadInput, NothingIsFoundBySizeAlone) {
  const test::ScratchFolder folder;
  keep_camera(store_camera(kMain), folder.path());
  write_camera_file(store_camera({}), folder / "from-elsewhere.yml");
  EXPECT_FALSE(is_found({}, folder));
  EXPECT_FALSE(is_found({.focal_length_mm = 5.6, .focal_length_35mm = 25.0}, folder));
  EXPECT_FALSE(is_found({.make = "Harrow Works", .model = "H9"}, folder));
}

TEST(CameraStoreBadInput, WhatTheFileHoldsThePhotoMustHoldToo) {
  const test::ScratchFolder folder;
  keep_camera(store_camera(kMain), folder.path());
  CameraIdentity part = kMain;
  part.lens.clear();
  EXPECT_FALSE(is_found(part, folder));
  part = kMain;
  part.focal_length_mm.reset();
  EXPECT_FALSE(is_found(part, folder));
  part = kMain;
  part.digital_zoom = 2.0;
  EXPECT_FALSE(is_found(part, folder));
  Photo turned = store_photo(kMain);
  turned.pixels = cv::Mat::zeros(400, 300, CV_8UC1);
  EXPECT_FALSE(find_camera(turned, folder.path()).camera.has_value());
}

TEST(CameraStoreBadInput, ADamagedFileIsNamedAndNeitherUsedNorOverwritten) {
  const test::ScratchFolder folder;
  const fs::path damaged = folder / "harrow-works-h2-5.6mm-400x300.yml";
  test::write_file(damaged, "%YAML:1.0\nnothing");
  const KeptCamera kept = keep_camera(store_camera(kMain), folder.path());
  EXPECT_NE(kept.file, damaged);
  EXPECT_EQ(test::file_text(damaged), "%YAML:1.0\nnothing");
  const FoundCamera found = find_camera(store_photo(kMain), folder.path());
  EXPECT_EQ(found.camera->file, kept.file.string());
  EXPECT_THAT(found.unreadable, testing::ElementsAre(HasSubstr(damaged.string())));
}

TEST(CameraStoreBadInput, TwoThatFitAlikeAreBothNamed) {
  const test::ScratchFolder folder;
  write_camera_file(store_camera(kMain), folder / "a.yml");
  write_camera_file(store_camera(kMain), folder / "b.yml");
  try {
    (void)find_camera(store_photo(kMain), folder.path());
    ADD_FAILURE() << "one of them was taken";
  } catch (const Error& error) {
    EXPECT_THAT(error.what(), testing::AllOf(HasSubstr("a.yml"), HasSubstr("b.yml")));
    EXPECT_THAT(error.do_next(), HasSubstr("--camera-file"));
  }
}

TEST(CameraStoreBadInput, AFolderThatCannotBeMadeIsNamed) {
  const test::ScratchFolder folder;
  test::write_file(folder / "cameras", "a file");
  EXPECT_THROW(keep_camera(store_camera(kMain), folder / "cameras"), Error);
}

}  // namespace
}  // namespace evenbevel
