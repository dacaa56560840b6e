// edge_view on a picture by another renderer: a solid blade with ricasso, plunge lines and ground
// edge, jaws, card and softboxes, traced by POV-Ray 3.7. data/ray_traced_edge.pov is the scene,
// with every measure of it and the command that made the picture; its numbers stand here again.

#include <cmath>

#include <gtest/gtest.h>

#include "edge_checks.hpp"

namespace evenbevel::outside {
namespace {

constexpr double kThickness_mm = 3.6, kLand_mm = 0.45, kSceneOffset_mm = 0.06, kEdge_mm = 5.0;
constexpr double kPlungeLeft_mm = -45.6, kPlungeRight_mm = -46.4, kFillet_mm = 4.0;
constexpr double kEye_mm[] = {5.0, 4.0, 300.0};

/// How far before its full depth a facet is half as wide as there: the fillet is a circle, and a
/// facet at 45 degrees narrows by the square root of two of what the cut is less deep.
double half_depth_before_mm(double facet_mm) {
  const double less_deep = 0.5 * facet_mm / std::sqrt(2.0);
  return std::sqrt(kFillet_mm * kFillet_mm - std::pow(kFillet_mm - less_deep, 2));
}

double plunge_mismatch_mm() {
  const double facet_left = 0.5 * (kThickness_mm - kLand_mm) - kSceneOffset_mm;
  const double facet_right = 0.5 * (kThickness_mm - kLand_mm) + kSceneOffset_mm;
  return (kPlungeLeft_mm - half_depth_before_mm(facet_left)) -
         (kPlungeRight_mm - half_depth_before_mm(facet_right));
}

EdgeResult measure_scene(const EdgeSettings& settings) {
  const Photo photo = read_photo(EVENBEVEL_OUTSIDE_DATA "/ray_traced_edge.jpg");
  CameraModel camera;
  camera.width_px = photo.pixels.cols, camera.height_px = photo.pixels.rows;
  camera.focal_px.setConstant(4500.0);
  camera.centre_px = {0.5 * (camera.width_px - 1), 0.5 * (camera.height_px - 1)};
  camera.lens_locked = true;
  return edge_view(photo, camera, settings);
}

TEST(EdgeRayTracedProperty, ARayTracedEdgeIsRead) {
  EdgeSettings settings;
  settings.thickness_mm = kThickness_mm;
  const EdgeResult result = measure_scene(settings);
  EXPECT_EQ(result.stage, Stage::ground);
  EXPECT_EQ(result.tip, Tip::right);
  expect_offset(result, kSceneOffset_mm);
  ASSERT_TRUE(result.land_width_mm && result.plunge_mismatch_mm);
  EXPECT_NEAR(result.land_width_mm->value, kLand_mm, U95(*result.land_width_mm));
  EXPECT_NEAR(result.plunge_mismatch_mm->value, plunge_mismatch_mm(),
              U95(*result.plunge_mismatch_mm));
  EXPECT_LT(U95(*result.plunge_mismatch_mm), 0.2);
}

TEST(EdgeRayTracedProperty, OfARayTracedEdgeThicknessAndCameraAreRead) {
  EdgeSettings settings;
  settings.thickness_mm = kThickness_mm;
  settings.edge_height_mm = kEdge_mm;
  const EdgeResult result = measure_scene(settings);
  ASSERT_TRUE(result.thickness_mm && result.pose);
  EXPECT_NEAR(result.thickness_mm->value, kThickness_mm, U95(*result.thickness_mm));
  const Eigen::Vector3d eye = result.pose->T_camera_card.inverse().matrix.translation();
  for (int i = 0; i < 3; ++i) EXPECT_NEAR(eye[i], kEye_mm[i], 0.3) << i;
}

}  // namespace
}  // namespace evenbevel::outside
