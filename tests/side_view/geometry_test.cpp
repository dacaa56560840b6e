#include <cmath>

#include <gtest/gtest.h>

#include "evenbevel/side_view.hpp"
#include "evenbevel/units.hpp"
#include "lens.hpp"
#include "seeded.hpp"
#include "side_scene.hpp"
#include "side_view/face_plane.hpp"

namespace evenbevel::test {
namespace {

/// Seen straight from above, the camera's axis through the card's origin.
side::FacePlane from_above(double distance_mm, double height_mm) {
  Transform<Camera, Card> T_camera_card;
  T_camera_card.matrix.linear() = Eigen::Vector3d(1.0, -1.0, -1.0).asDiagonal();
  T_camera_card.matrix.translation() = Eigen::Vector3d(0.0, 0.0, distance_mm);
  return {plain_phone(), T_camera_card, {0.0, 0.0}, {1.0, 0.0}, {0.0, 1.0}, height_mm};
}

// A surface dz nearer the camera than the card, the camera Z from the card, looks larger by
// dz / (Z - dz): similar triangles, worked out by hand in per cent.
TEST(SideGeometryClosedForm, ANearerFaceLooksLarger) {
  struct Row {
    double height_mm, distance_mm, larger_percent, half_digit;
  };
  for (const Row& row : {Row{3.2, 300.0, 1.08, 0.005}, Row{3.2, 500.0, 0.64, 0.005},
                         Row{3.2, 1000.0, 0.32, 0.005}, Row{0.1, 300.0, 0.033, 0.0005}}) {
    const side::FacePlane face = from_above(row.distance_mm, row.height_mm);
    const auto length = [&](double height_mm) {
      return (face.pixel({100.0, 0.0}, height_mm) - face.pixel({0.0, 0.0}, height_mm)).norm();
    };
    EXPECT_NEAR(100.0 * (length(row.height_mm) / length(0.0) - 1.0), row.larger_percent,
                row.half_digit);
    // What the upper face measures is its own length all the same.
    const Eigen::Vector2d back = face.at_pixel(face.pixel({100.0, 0.0}));
    EXPECT_NEAR(back.x(), 100.0, 1e-6);
    EXPECT_NEAR(back.y(), 0.0, 1e-6);
  }
}

// A symmetric flat grind: half angle = atan((T - e) / 2h). Two bars worked out in 40-digit decimal
// arithmetic (mpmath).
TEST(SideGeometryClosedForm, BevelAngleOfTwoCommonBars) {
  struct Row {
    double stock_mm, land_mm, height_mm, half_deg;
  };
  for (const Row& row :
       {Row{3.175, 0.5, 25.4, 3.01426744166236}, Row{4.0, 0.4, 20.0, 5.14276455788424}}) {
    SideBlade blade;
    blade.thickness_mm = blade.tip_thickness_mm = row.stock_mm;
    blade.land_mm = row.land_mm;
    blade.height_mm = row.height_mm + 9.0;
    blade.left.bevel_mm = row.height_mm;
    blade.belly_x_mm = 80.0;
    std::mt19937_64 rng = seeded("SideWedge", 0);
    const SidePicture picture =
        take_side_picture(&blade, Face::left, {}, {.distance_mm = 310.0}, {}, rng);
    const std::vector<FacePhoto> photos = {{Face::left, &picture.photo, &picture.camera}};
    SideSettings settings;
    settings.thickness_mm = row.stock_mm, settings.land_mm = row.land_mm;
    const SideResult result = side_view(photos, settings);
    int count = 0, held = 0;
    for (const SideStation& station : result.stations) {
      const std::optional<Measured>& angle = station.left.bevel_angle_rad;
      // The straight part of the edge, where the height is the table's.
      if (!angle || station.x_mm < 10.0 || station.x_mm > 70.0) continue;
      ++count;
      if (std::abs(angle->value - radians(row.half_deg)) <= U95(*angle)) ++held;
    }
    EXPECT_GT(count, 40) << row.stock_mm;
    EXPECT_GE(held, 0.95 * count) << row.stock_mm;
  }
}

}  // namespace
}  // namespace evenbevel::test
