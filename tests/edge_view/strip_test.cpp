// Coordinates for following the blade.

#include "edge_view/strip.hpp"

#include <cmath>

#include <gtest/gtest.h>

#include "lens.hpp"
#include "random_scene.hpp"

namespace evenbevel::test {
namespace {

CameraModel phone() {
  CameraModel camera = plain_phone();
  camera.lens = Lens("pinhole", {0.07, -0.14, -4e-4, 5e-4, 0.06});
  return camera;
}

/// A border at the edge's height on the ricasso, a facet's depth lower beside the land.
const edge::HeightProfile kRims({{-30.0, 5.0}, {-27.0, 3.5}, {60.0, 3.2}});

TEST(HeightProfileClosedForm, LinearBetweenNodesAndConstantBeyond) {
  EXPECT_DOUBLE_EQ(kRims.at(-80.0), 5.0);
  EXPECT_DOUBLE_EQ(kRims.at(-28.5), 4.25);
  EXPECT_DOUBLE_EQ(kRims.at(-27.0), 3.5);
  EXPECT_DOUBLE_EQ(kRims.at(70.0), 3.2);
  EXPECT_DOUBLE_EQ(edge::HeightProfile(5.0).at(12.0), 5.0);
}

TEST(StripClosedForm, APixelComesBackFromWhereItIsMet) {
  const Transform<Camera, Card> T = looking_at({0, 0, 0}, {20.0, 44.0, 200.0}, 0.03);
  const edge::StripFrame strip(phone(), T, kRims, 0.02);
  for (const double s : {-60.0, -30.0, -28.0, -26.0, 0.0, 50.0}) {
    for (const double t : {-3.0, 0.0, 2.0}) {
      const Eigen::Vector2d at = strip.at(strip.pixel(s, t));
      EXPECT_NEAR(at.x(), s, 1e-3);
      EXPECT_NEAR(at.y(), t, 1e-3);
    }
  }
}

// A camera 44 mm aside and 200 mm away sees a rim that lies 1.5 mm deeper 1.5 x 0.22 = 0.33 mm
// farther across: in the plane it steps, in the surface it runs straight.
TEST(StripClosedForm, ARimThatStepsRunsStraightInItsOwnSurface) {
  const Transform<Camera, Card> T = looking_at({0, 0, 0}, {20.0, 44.0, 200.0}, 0.03);
  const edge::StripFrame surface(phone(), T, kRims, 0.0);
  const auto pixel = [&](double x) {
    return project(phone(), T * Point<Card>{{x, -1.2, kRims.at(x)}});
  };
  for (const double x : {-60.0, -28.0, 0.0, 60.0}) {
    EXPECT_NEAR(surface.at(pixel(x)).y(), 1.2, 1e-3);
  }
  const edge::StripFrame plane = surface.in_plane();
  const double step = plane.at(pixel(-26.0)).y() - plane.at(pixel(-31.0)).y();
  EXPECT_NEAR(std::abs(step), 0.33, 0.03);
}

}  // namespace
}  // namespace evenbevel::test
