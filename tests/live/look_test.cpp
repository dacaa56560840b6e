// Looks at the sample photos against the truth that they were rendered from.

#include <cmath>
#include <fstream>

#include <Eigen/Core>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>
#include <opencv2/core.hpp>

#include "evenbevel/live_view.hpp"
#include "evenbevel/photo.hpp"

namespace evenbevel {
namespace {

using std::filesystem::path;

const path kFolder = SOURCE_FOLDER;

/// Where the camera stood, blade frame.
Eigen::Vector3d true_camera_mm(const std::string& name) {
  std::ifstream file(kFolder / "sample-images" / (name + ".json"));
  const nlohmann::json T = nlohmann::json::parse(file).at("T_camera_blade");
  Eigen::Matrix3d R;
  Eigen::Vector3d t;
  for (int i = 0; i < 3; ++i) {
    t(i) = T.at("t_mm").at(static_cast<std::size_t>(i));
    for (int k = 0; k < 3; ++k) {
      R(i, k) = T.at("R").at(static_cast<std::size_t>(i)).at(static_cast<std::size_t>(k));
    }
  }
  return -R.transpose() * t;
}

LiveSettings settings_of(const std::string& camera_file) {
  return {.camera = read_camera_file(kFolder / "calibration" / camera_file)};
}

Photo sample(const std::string& name) {
  return read_photo(kFolder / "sample-images" / (name + ".jpg"));
}

TEST(LiveLookSamplePhotos, CameraPlaceIsTheTruthsWithinWhatTheLaneLeavesOpen) {
  // The blade may stand a few mm off the lane's middle, its edge 2 to 10 mm above the card.
  for (const auto& [name, camera] :
       {std::pair("edge-usb", "sample-usb.yml"), std::pair("edge-three-2", "sample-phone.yml"),
        std::pair("edge-three-3", "sample-phone.yml")}) {
    const LiveLook look = look_at_frame(sample(name).pixels, settings_of(camera));
    ASSERT_TRUE(look.placed) << name;
    const Eigen::Vector3d truth = true_camera_mm(name);
    EXPECT_NEAR(look.distance_mm, std::abs(truth.z()) + 6.0, 8.0) << name;
    EXPECT_NEAR(-look.aside_mm.y(), truth.y(), 6.0) << name << ": positive to the left face";
  }
}

TEST(LiveLookSamplePhotos, ABlownOutCardIsGlare) {
  const LiveSettings settings = settings_of("sample-phone.yml");
  EXPECT_GT(look_at_frame(sample("edge-overexposed").pixels, settings).glare, 0.1);
  EXPECT_LT(look_at_frame(sample("edge-ground-centred").pixels, settings).glare, 0.01);
}

TEST(LiveLookBadInput, WithoutTheCardNothingIsPlaced) {
  const LiveSettings settings = settings_of("sample-phone.yml");
  const LiveLook none = look_at_frame(sample("edge-no-card").pixels, settings);
  EXPECT_FALSE(none.card);
  EXPECT_FALSE(none.placed);
  const LiveLook side = look_at_frame(sample("side-clean-left").pixels, settings);
  EXPECT_FALSE(side.card);
  EXPECT_EQ(side.other, CardKind::side);
  const cv::Mat grey(1080, 1920, CV_8UC3, cv::Scalar(90, 90, 90));
  EXPECT_FALSE(look_at_frame(grey, settings).card);
}

TEST(LiveLookProperty, ThePictureIsAsWideAsAskedAndMarksTheCorners) {
  const Photo photo = sample("edge-usb");
  const LiveLook look = look_at_frame(photo.pixels, settings_of("sample-usb.yml"));
  const cv::Mat marked = live_picture(photo.pixels, look, 960);
  const cv::Mat plain = live_picture(photo.pixels, {}, 960);
  ASSERT_EQ(marked.size(), cv::Size(960, 540));
  for (const CardCorner& corner : look.card->corners) {
    const cv::Point at(static_cast<int>(corner.q_px.x() / 2),
                       static_cast<int>(corner.q_px.y() / 2));
    const cv::Rect around = cv::Rect(at.x - 4, at.y - 4, 9, 9) & cv::Rect(0, 0, 960, 540);
    EXPECT_GT(cv::norm(marked(around), plain(around), cv::NORM_INF), 50.0);
  }
}

}  // namespace
}  // namespace evenbevel
