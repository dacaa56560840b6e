// The lens of one photo, found together with the card's pose.

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include <Eigen/Dense>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "card_photo.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/words.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

using test::CardScene;
using test::normal;
using test::random_card_scene;
using testing::HasSubstr;
using testing::Not;

constexpr double kFocalU = 0.01, kCentreU_px = 15.0;  // What the header promises of a phone.

/// What the print and the sheet really are.
struct Sheet {
  double noise_px = 0.0;
  double stretch = 0.0;
  Eigen::Vector3d sag_per_mm = Eigen::Vector3d::Zero();  ///< z = a x^2 + b x y + c y^2.
};

FoundCard sighted(const CardScene& scene, const Sheet& sheet, std::mt19937_64& rng) {
  const CardLayout& layout = card_layout(scene.kind);
  FoundCard card;
  card.kind = scene.kind;
  card.markers = static_cast<int>(layout.marker_cells.size());
  card.spacing_px = 90.0;
  for (std::size_t i = 0; i < layout.corners_mm.size(); ++i) {
    const double x = layout.corners_mm[i].x() * (1.0 + 0.5 * sheet.stretch);
    const double y = layout.corners_mm[i].y() * (1.0 - 0.5 * sheet.stretch);
    const double z = sheet.sag_per_mm.dot(Eigen::Vector3d(x * x, x * y, y * y));
    const Eigen::Vector2d q_px =
        project(scene.camera, scene.T_camera_card * Point<Card>{{x, y, z}});
    const double off_x = sheet.noise_px * normal(rng);
    const double off_y = sheet.noise_px * normal(rng);
    card.corners.push_back({static_cast<int>(i), q_px + Eigen::Vector2d(off_x, off_y)});
  }
  return card;
}

CameraModel phone() {
  CameraModel camera;
  camera.width_px = 4032;
  camera.height_px = 3024;
  camera.focal_px.setConstant(2950.0);
  camera.centre_px = {2020.0, 1500.0};
  camera.lens = Lens("pinhole", {0.06, -0.11, 0.0003, -0.0002, 0.04});
  return camera;
}

CameraModel moved(CameraModel camera, double focal, double x_px, double y_px) {
  camera.focal_px *= 1.0 + focal;
  camera.centre_px.x() += x_px;
  camera.centre_px.y() += y_px;
  return camera;
}

/// Tilted about an axis in the picture, seen from so far.
CardScene seen_from(const CameraModel& camera, double distance_mm, double tilt_rad,
                    double toward_rad) {
  CardScene scene;
  scene.camera = camera;
  const Eigen::Matrix3d facing = Eigen::Vector3d(1.0, -1.0, -1.0).asDiagonal();
  scene.T_camera_card.matrix.linear() =
      Eigen::AngleAxisd(tilt_rad, Eigen::Vector3d(std::cos(toward_rad), std::sin(toward_rad), 0.0))
          .toRotationMatrix() *
      facing;
  scene.T_camera_card.matrix.translation() = Eigen::Vector3d(0.0, 0.0, distance_mm);
  return scene;
}

/// Where the camera stands above the card: x, y, height.
Eigen::Vector3d place(const Transform<Camera, Card>& T) { return T.inverse().matrix.translation(); }

/// Covariance of the place, from the pose's.
Eigen::Matrix3d place_covariance(const CardPose& pose) {
  const Eigen::Matrix3d R = pose.T_camera_card.matrix.linear().transpose();
  const Eigen::Vector3d t = pose.T_camera_card.matrix.translation();
  Eigen::Matrix3d cross;
  cross << 0, -t.z(), t.y(), t.z(), 0, -t.x(), -t.y(), t.x(), 0;
  Eigen::Matrix<double, 3, 6> J_place;
  J_place << -R * cross, -R;
  return J_place * (pose.covariance_corners + pose.covariance_camera) * J_place.transpose();
}

// A print known to be true, seen well aslant, tells the lens: what was moved comes back.
TEST(LensInPhotoClosedForm, AMovedLensComesBackFromATruePrintSeenAslant) {
  std::mt19937_64 rng = test::seeded("MovedLens", 0);
  CameraModel file = phone();
  file.covariance = LensMatrix::Zero(9, 9);
  for (const double toward : {0.4, 1.9}) {
    const CardScene scene = seen_from(moved(file, 0.015, 20.0, -12.0), 280.0, 0.5, toward);
    const SeenCard seen = see_card(sighted(scene, {}, rng), file, {.u = 1e-7});
    EXPECT_NEAR(seen.camera.centre_px.x(), scene.camera.centre_px.x(), 0.1);
    EXPECT_NEAR(seen.camera.centre_px.y(), scene.camera.centre_px.y(), 0.1);
    EXPECT_NEAR(seen.camera.focal_px.x() / scene.camera.focal_px.x(), 1.0, 1e-4);
    EXPECT_NEAR(seen.pose.lens.centre_px.norm(), std::hypot(20.0, 12.0), 0.1);
    EXPECT_NEAR(seen.pose.lens.focal, 0.015, 1e-4);
    EXPECT_LT((place(seen.pose.T_camera_card) - place(scene.T_camera_card)).norm(), 0.05);
    const auto note = lens_note(seen.pose.lens);
    ASSERT_TRUE(note);
    EXPECT_THAT(sentence(*note, LengthUnit::mm),
                HasSubstr("principal point 23 px from the camera file"));
    EXPECT_THAT(sentence(*note, LengthUnit::mm), HasSubstr("focal length 1.5 % longer"));
  }
}

// A card seen square on through a lens without distortion tells neither its focal length from its
// distance nor its principal point from its place: D and D c / f keep what the prior leaves.
TEST(LensInPhotoClosedForm, ACardSeenSquareOnLeavesWhatThePriorLeaves) {
  std::mt19937_64 rng = test::seeded("SquareOnLens", 0);
  CameraModel file = phone();
  file.lens = {};
  file.covariance = LensMatrix::Zero(9, 9);
  constexpr double kDistance_mm = 300.0;
  const CardScene scene = seen_from(file, kDistance_mm, 0.0, 0.0);
  const SeenCard seen = see_card(sighted(scene, {.noise_px = 0.05}, rng), file, {});
  const Eigen::Matrix3d covariance = place_covariance(seen.pose);
  const double aside_mm = kDistance_mm * kCentreU_px / file.focal_px.x();
  // The noise of 100 corners tells a little, and adds a little: 3 %.
  EXPECT_NEAR(std::sqrt(covariance(0, 0)), aside_mm, 0.03 * aside_mm);
  EXPECT_NEAR(std::sqrt(covariance(1, 1)), aside_mm, 0.03 * aside_mm);
  EXPECT_NEAR(std::sqrt(covariance(2, 2)), kFocalU * kDistance_mm, 0.03 * kFocalU * kDistance_mm);
  EXPECT_NEAR(seen.pose.lens.focal_u, kFocalU, 0.03 * kFocalU);
  EXPECT_FALSE(lens_note(seen.pose.lens));
}

TEST(LensInPhotoClosedForm, ALockedLensStaysAsCalibrated) {
  std::mt19937_64 rng = test::seeded("LockedLens", 0);
  CameraModel file = phone();
  file.lens_locked = true;
  file.covariance = LensMatrix::Zero(9, 9);
  const CardScene scene = seen_from(file, 300.0, 0.2, 0.7);
  const FoundCard card = sighted(scene, {.noise_px = 0.05}, rng);
  const SeenCard seen = see_card(card, file, {.u = 1e-7});
  const CardPose held = fit_card_pose(card, file, {});
  EXPECT_NEAR(seen.camera.centre_px.x(), file.centre_px.x(), 1e-6);
  EXPECT_NEAR(seen.camera.focal_px.x(), file.focal_px.x(), 1e-6);
  // The sheet's bend is free in the one and not in the other: well within the prior's 0.2 mm.
  EXPECT_LT((place(seen.pose.T_camera_card) - place(held.T_camera_card)).norm(), 0.05);
}

// Lens, print and sheet drawn as the priors have them: the camera's place lies within what the pose
// states, one axis with the other. The square of the error over its covariance is chi-square with 3
// degrees of freedom; its mean over n scenes has standard deviation sqrt(6 / n).
TEST(LensInPhotoProperty, ThePlaceOfTheCameraIsAsUncertainAsItSays) {
  constexpr int kScenes = 200;
  double sum = 0.0, sum_centre = 0.0;
  int counted = 0;
  for (int i = 0; i < kScenes; ++i) {
    std::mt19937_64 rng = test::seeded("LensInPhoto", i);
    CardScene scene = random_card_scene(CardKind::edge, rng);
    const CameraModel file = scene.camera;
    const double x = kCentreU_px * normal(rng), y = kCentreU_px * normal(rng);
    scene.camera = moved(file, kFocalU * normal(rng), x, y);
    const auto covariance = covariance_or_typical(file);
    for (int k = 0; k < scene.camera.lens.size(); ++k) {
      const int at = kCoefficientsAt + k;
      scene.camera.lens[k] += std::sqrt(covariance(at, at)) * normal(rng);
    }
    scene.camera.centre_px.x() += std::sqrt(covariance(2, 2)) * normal(rng);
    scene.camera.centre_px.y() += std::sqrt(covariance(3, 3)) * normal(rng);
    Sheet sheet{.noise_px = 0.05, .stretch = 0.002 * std::sqrt(2.0) * normal(rng)};
    const double sag_a = normal(rng), sag_b = normal(rng), sag_c = normal(rng);
    sheet.sag_per_mm = 0.5 * 2e-5 * Eigen::Vector3d(sag_a, sag_b, sag_c);
    const SeenCard seen = see_card(sighted(scene, sheet, rng), file, {});
    const Eigen::Vector3d error = place(seen.pose.T_camera_card) - place(scene.T_camera_card);
    sum += error.dot(place_covariance(seen.pose).ldlt().solve(error));
    const Eigen::Vector2d centre = seen.camera.centre_px - scene.camera.centre_px;
    sum_centre += centre.dot(seen.pose.lens.centre_covariance.ldlt().solve(centre));
    ++counted;
  }
  EXPECT_NEAR(sum / counted, 3.0, 3.0 * std::sqrt(6.0 / kScenes));
  EXPECT_NEAR(sum_centre / counted, 2.0, 3.0 * std::sqrt(4.0 / kScenes));
}

std::string lens_refusal(const FoundCard& card, const CameraModel& camera) {
  try {
    see_card(card, camera, {});
  } catch (const Error& error) {
    return error.what();
  }
  return "not refused";
}

TEST(LensInPhotoBadInput, ACameraFileOfAnotherLensIsNamed) {
  std::mt19937_64 rng = test::seeded("OtherLens", 0);
  const CameraModel file = phone();
  CameraModel other = moved(file, 0.25, 0.0, 0.0);
  FoundCard card = sighted(seen_from(other, 340.0, 0.5, 0.4), {.noise_px = 0.05}, rng);
  EXPECT_THAT(lens_refusal(card, file), HasSubstr("of another lens"));
  other = file;
  other.lens = Lens("pinhole", {-0.2, 0.05, 0.0, 0.0, 0.0});
  card = sighted(seen_from(other, 280.0, 0.1, 0.4), {.noise_px = 0.05}, rng);
  EXPECT_THAT(lens_refusal(card, file), HasSubstr("of another lens"));
}

// A lens that moved is no reason to call the card bent, nor a reason not to.
TEST(LensInPhotoBadInput, ABentCardIsToldFromAMovedLens) {
  for (int i = 0; i < 6; ++i) {
    std::mt19937_64 rng = test::seeded("BentOrMoved", i);
    const CameraModel file = phone();
    const CameraModel lens = moved(file, 0.012, 22.0, -18.0);
    const CardScene scene = seen_from(lens, 280.0, 0.06 * i, 0.9 * i);
    EXPECT_EQ(lens_refusal(sighted(scene, {.noise_px = 0.05}, rng), file), "not refused") << i;
    const Sheet bowed{.noise_px = 0.05, .sag_per_mm = {-5.0 / (120.0 * 120.0), 0.0, 0.0}};
    EXPECT_THAT(lens_refusal(sighted(scene, bowed, rng), file), HasSubstr("bent")) << i;
  }
}

}  // namespace
}  // namespace evenbevel
