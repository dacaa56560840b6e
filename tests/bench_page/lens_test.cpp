// The lens card's photos, one after the other, until the camera is known.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "bench/lens_photos.hpp"
#include "evenbevel/camera.hpp"
#include "evenbevel/camera_store.hpp"
#include "running_bench.hpp"

namespace evenbevel {
namespace {

using nlohmann::json;
using test::RunningBench;
using testing::HasSubstr;
using testing::StartsWith;

std::string lens_photo(int number) {
  const std::string digits = (number < 10 ? "0" : "") + std::to_string(number);
  return test::file_text(SOURCE_FOLDER "/sample-images/lens-" + digits + ".jpg");
}

json sent(const RunningBench& bench, const std::string& photo) {
  return bench.job_done(bench.post("/photo", photo).json()["job"]);
}

TEST(BenchLensSamplePhotos, TheCameraIsKnownAfterEnoughPhotosAndItsPhotosFindIt) {
  const std::filesystem::path store = default_camera_folder().value();
  std::filesystem::remove_all(store);
  const RunningBench bench;
  ASSERT_EQ(bench.choose({{"view", "lens"}}).status, 200);
  json state;
  int taken = 0;
  for (int number = 1; number <= 12; ++number) {
    state = sent(bench, lens_photo(number));
    ASSERT_EQ(state["job"]["state"], "measured") << state["job"];
    EXPECT_EQ(state["job"]["has_picture"], true);
    EXPECT_EQ(state["job"]["has_report"], false);
    EXPECT_EQ(state["job"]["can_keep"], false);
    ++taken;
    if (state["job"]["said"]["headline"] == "THE LENS IS KNOWN") break;
    EXPECT_EQ(state["job"]["said"]["headline"], "PHOTO " + std::to_string(number) + " COUNTS");
    EXPECT_EQ(state["guide"], state["job"]["said"]["next"][0]);
  }
  EXPECT_EQ(state["job"]["said"]["headline"], "THE LENS IS KNOWN");
  EXPECT_GE(taken, 10);
  const std::string picture = "/picture.jpg?job=" + state["job"]["id"].dump();
  EXPECT_THAT(bench.get(picture).body, StartsWith("\xFF\xD8"));

  // Truth of the camera that rendered them: calibration/sample-phone.yml is of other photos.
  const Photo photo = read_photo(SOURCE_FOLDER "/sample-images/edge-ground-centred.jpg");
  const FoundCamera found = find_camera(photo, store);
  ASSERT_TRUE(found.camera);
  const CameraModel other = read_camera_file(SOURCE_FOLDER "/calibration/sample-phone.yml");
  EXPECT_NEAR(found.camera->focal_px.x(), other.focal_px.x(), 0.005 * other.focal_px.x());
  std::filesystem::remove_all(store);
}

TEST(BenchLensSamplePhotos, TheBenchsOwnCameraIsKeptInItsFolder) {
  const test::ScratchFolder folder;
  BenchSettings settings;
  settings.folder = folder.path();
  bench::LensPhotos lens(settings);
  bench::LensPhotos::Progress progress;
  for (int number = 1; number <= 12 && !progress.known; ++number) {
    const std::string digits = (number < 10 ? "0" : "") + std::to_string(number);
    Photo photo = read_photo(SOURCE_FOLDER "/sample-images/lens-" + digits + ".jpg");
    photo.camera = {};  // a camera's frame says nothing of who took it
    progress = lens.add(photo, true);
  }
  ASSERT_TRUE(progress.known);
  EXPECT_EQ(progress.file, folder / "camera.yml");
  const CameraModel camera = read_camera_file(progress.file);
  const CameraModel other = read_camera_file(SOURCE_FOLDER "/calibration/sample-phone.yml");
  EXPECT_NEAR(camera.focal_px.x(), other.focal_px.x(), 0.005 * other.focal_px.x());
  EXPECT_FALSE(camera.lens_locked) << "whether its focus stays held is not known here";
}

TEST(BenchLensBadInput, PhotosThatAreOfNoUseAreNotCounted) {
  const RunningBench bench;
  ASSERT_EQ(bench.choose({{"view", "lens"}}).status, 200);
  const json no_exif = sent(bench, test::file_text(SOURCE_FOLDER "/sample-images/edge-usb.jpg"));
  EXPECT_EQ(no_exif["job"]["state"], "refused");
  EXPECT_THAT(no_exif["job"]["said"]["wrong"].get<std::string>(), HasSubstr("no EXIF"));
  const json other_card =
      sent(bench, test::file_text(SOURCE_FOLDER "/sample-images/side-clean-left.jpg"));
  EXPECT_EQ(other_card["job"]["state"], "refused");
  EXPECT_EQ(other_card["job"]["has_picture"], true);
  const json first = sent(bench, lens_photo(1));
  EXPECT_EQ(first["job"]["said"]["headline"], "PHOTO 1 COUNTS");
  EXPECT_THAT(first["guide"].get<std::string>(), HasSubstr("the card"));
  // Started over, none counts; what was sent before cannot slip into what is begun anew.
  EXPECT_EQ(first["begun"], 1);
  EXPECT_FALSE(first["job"]["dropped"]);
  const int under_way = bench.post("/photo", lens_photo(3)).json()["job"];
  const json over = bench.post("/start-over", "").json();
  EXPECT_EQ(over["begun"], 0);
  EXPECT_THAT(over["guide"].get<std::string>(), StartsWith("Lens card on something flat"));
  const json late = bench.job_done(under_way)["job"];
  EXPECT_EQ(late["state"], "refused") << late;
  EXPECT_THAT(late["said"]["wrong"].get<std::string>(), HasSubstr("started over"));
  EXPECT_TRUE(late["dropped"]);
  const json anew = sent(bench, lens_photo(1));
  EXPECT_EQ(anew["job"]["said"]["headline"], "PHOTO 1 COUNTS");
  EXPECT_FALSE(anew["job"]["dropped"]);
  // Taken again, it does not count.
  EXPECT_EQ(bench.post("/again", "").status, 200);
  const json second = sent(bench, lens_photo(2));
  EXPECT_EQ(second["job"]["said"]["headline"], "PHOTO 1 COUNTS");
}

}  // namespace
}  // namespace evenbevel
